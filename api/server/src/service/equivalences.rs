//! Equivalences as they are signed and withdrawn. Both are facts: neither is ever changed or removed.

use std::collections::HashMap;

use chrono::Offset;
use domain::procedure::{Equivalence as Said, Marking, NamedThing};
use domain::size::Diameter;
use sea_orm::ActiveValue::Set;
use sea_orm::ConnectionTrait;
use types::{
    Equivalence, EquivalencePage, EquivalencePath, NewEquivalence, NewWithdrawal, Page, Withdrawal,
};

use super::procedures::{dated, find_revision, requirement};
use super::{Context, Error, codes, instant};
use crate::store;
use crate::store::entity::{
    equivalence_withdrawals as withdrawals, equivalences, procedure_revisions as revisions,
    procedures,
};

/// What was signed for a revision, first entered first.
pub async fn list(
    context: &Context,
    (procedure, revision): (&str, &str),
    page: &Page,
) -> Result<EquivalencePage, Error> {
    let db = context.store.read();
    let (procedure, revision) = find_revision(db, procedure, revision).await?;
    let mut rows = store::equivalences::of_revisions(db, [revision.id]).await?;
    if let Some(after) = &page.after {
        // What was signed before what the last page ended with is left out.
        let last = rows
            .iter()
            .position(|row| row.code_key == codes::key(after));
        let Some(last) = last else {
            let why = format!("\"{after}\" is not the next of a page; start without it");
            return Err(Error::invalid("?after", why));
        };
        rows.drain(..=last);
    }
    rows.truncate(usize::try_from(page.limit()).unwrap_or(usize::MAX));
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(EquivalencePage {
        equivalences: views(db, rows, (&procedure, &revision)).await?,
        next,
    })
}

/// Signs an equivalence for a revision.
pub async fn sign(
    context: &Context,
    (procedure, revision): (&str, &str),
    new: NewEquivalence,
) -> Result<Equivalence, Error> {
    let thing = new.check()?;
    let now = context.clock.now();
    if new.signed_at.is_some_and(|at| at.to_utc() > now) {
        let why = "is still to come; give the time at which it was signed, or leave it out";
        return Err(Error::invalid("/signed_at", why));
    }
    let (code, number) = (procedure.to_owned(), revision.to_owned());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (procedure, revision) = find_revision(tx, &code, &number).await?;
            let said = Said {
                id: String::new(),
                marking: Marking::read(&new.marking),
                thing,
            };
            let said = said
                .checked(&requirement(&revision)?)
                .map_err(|error| Error::invalid(format!("/{}", error.field()), error))?;
            let id = if let Some(id) = &new.equivalence {
                id.trim().to_owned()
            } else {
                let names = Names::load(tx, procedure.id, revision.id).await?;
                names.free(said.marking.as_str(), &said.thing)
            };
            let zone = codes::site_or_first(tx, "/site", None).await?.zone;
            let here = now.with_timezone(&instant::site_zone(&zone));
            let here = here.with_timezone(&here.offset().fix());
            let signed_at = new.signed_at.unwrap_or(here);
            let row = equivalences::ActiveModel {
                revision_id: Set(revision.id),
                code_key: Set(codes::key(&id)),
                marking: Set(said.marking.as_str().to_owned()),
                class: Set(said.thing.class.symbol().to_owned()),
                diameter_um: Set(said.thing.diameter.um()),
                grade: Set(said.thing.grade.clone()),
                signed_by: Set(new.signed_by.trim().to_owned()),
                asked_by: Set(new.asked_by.as_deref().map(|by| by.trim().to_owned())),
                signed_at: Set(signed_at.timestamp_micros()),
                offset_minutes: Set(instant::offset_minutes(&signed_at)),
                recorded_at: Set(now.timestamp_micros()),
                code: Set(id.clone()),
                ..Default::default()
            };
            let taken = codes::taken("equivalence", &id);
            let row = store::equivalences::insert(tx, row).await.map_err(taken)?;
            view(tx, row, (&procedure, &revision)).await
        })
    });
    write.await
}

/// Withdraws a signature: from now on it does not hold.
pub async fn withdraw(
    context: &Context,
    path: EquivalencePath,
    new: NewWithdrawal,
) -> Result<Equivalence, Error> {
    new.check()?;
    let now = context.clock.now().timestamp_micros();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (procedure, revision) = find_revision(tx, &path.procedure, &path.revision).await?;
            let rows = store::equivalences::of_revisions(tx, [revision.id]).await?;
            let key = codes::key(&path.equivalence);
            let row = rows.into_iter().find(|row| row.code_key == key);
            let row = row.ok_or_else(|| Error::NotFound {
                kind: "equivalence",
                key: path.equivalence.clone(),
            })?;
            if !store::equivalences::withdrawals(tx, [row.id])
                .await?
                .is_empty()
            {
                let why = format!("{} was withdrawn before; sign another one", row.code);
                return Err(Error::WrongState(why));
            }
            let gone = withdrawals::ActiveModel {
                equivalence_id: Set(row.id),
                withdrawn_by: Set(new.withdrawn_by.trim().to_owned()),
                why: Set(new.why.clone()),
                withdrawn_at: Set(now),
                ..Default::default()
            };
            store::equivalences::withdraw(tx, gone).await?;
            view(tx, row, (&procedure, &revision)).await
        })
    });
    write.await
}

/// The names that the equivalences of a procedure have.
pub(super) struct Names {
    all: Vec<equivalences::Model>,
    revision: i64,
}

impl Names {
    /// Reads those of all its revisions.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        procedure: i64,
        revision: i64,
    ) -> Result<Self, Error> {
        let revisions = store::procedure_revisions::of_procedures(db, [procedure]).await?;
        let ids = revisions.iter().map(|row| row.id);
        let all = store::equivalences::of_revisions(db, ids).await?;
        Ok(Self { all, revision })
    }

    /// The name for an equivalence of the revision: the one that the same statement has in another
    /// revision, else the first free `EQ-n`.
    pub(super) fn free(&self, marking: &str, thing: &NamedThing) -> String {
        let marking = Marking::read(marking);
        let here = |key: &str| {
            let mut own = self
                .all
                .iter()
                .filter(|row| row.revision_id == self.revision);
            own.any(|row| row.code_key == key)
        };
        let same = self.all.iter().find(|row| {
            row.class == thing.class.symbol()
                && row.diameter_um == thing.diameter.um()
                && row.grade == thing.grade
                && Marking::read(&row.marking).is(&marking)
                && !here(&row.code_key)
        });
        same.map_or_else(|| self.fresh(0), |row| row.code.clone())
    }

    /// A name that no revision has, after so many others.
    pub(super) fn fresh(&self, passed: usize) -> String {
        let used = |name: &str| {
            let key = codes::key(name);
            self.all.iter().any(|row| row.code_key == key)
        };
        let names = (1..).map(|number| format!("EQ-{number}"));
        let mut free = names.filter(|name| !used(name));
        free.nth(passed).unwrap_or_default()
    }
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<equivalences::Model>,
    (procedure, revision): (&procedures::Model, &revisions::Model),
) -> Result<Vec<Equivalence>, Error> {
    let gone = store::equivalences::withdrawals(db, rows.iter().map(|row| row.id)).await?;
    let mut gone: HashMap<i64, withdrawals::Model> = gone
        .into_iter()
        .map(|row| (row.equivalence_id, row))
        .collect();
    let views = rows.into_iter().map(|row| {
        let withdrawal = gone.remove(&row.id).map(|gone| Withdrawal {
            withdrawn_by: gone.withdrawn_by,
            why: gone.why,
            withdrawn_at: instant::from_micros(gone.withdrawn_at),
        });
        told(row, withdrawal, (procedure, revision))
    });
    Ok(views.collect())
}

async fn view(
    db: &impl ConnectionTrait,
    row: equivalences::Model,
    of: (&procedures::Model, &revisions::Model),
) -> Result<Equivalence, Error> {
    let lost = || Error::Internal("an equivalence was lost while it was shown".to_owned());
    views(db, vec![row], of).await?.pop().ok_or_else(lost)
}

fn told(
    row: equivalences::Model,
    withdrawal: Option<Withdrawal>,
    (procedure, revision): (&procedures::Model, &revisions::Model),
) -> Equivalence {
    let signed_at = instant::with_offset(row.signed_at, row.offset_minutes);
    let diameter = Diameter::from_um(row.diameter_um);
    let diameter = diameter.map_or_else(String::new, |diameter| diameter.to_string());
    let asked_by = row.asked_by.unwrap_or_else(|| row.signed_by.clone());
    let same_person = codes::key(&asked_by) == codes::key(&row.signed_by);
    let grade = row.grade.as_deref();
    let grade = grade.map_or_else(String::new, |grade| format!(" {grade}"));
    let asked = if same_person {
        ", who asked for it".to_owned()
    } else {
        format!(", asked for by {asked_by}")
    };
    let gone = withdrawal.as_ref().map_or_else(String::new, |gone| {
        let on = dated(&gone.withdrawn_at.fixed_offset());
        format!(" Withdrawn {on} by {}.", gone.withdrawn_by)
    });
    Equivalence {
        says: format!(
            "{}: {} = {diameter} {}{grade}, signed {} by {}{asked}.{gone}",
            row.code,
            row.marking,
            row.class,
            dated(&signed_at),
            row.signed_by
        ),
        equivalence: row.code,
        procedure: procedure.code.clone(),
        revision: revision.revision,
        marking: row.marking,
        class: row.class,
        diameter,
        grade: row.grade,
        signed_by: row.signed_by,
        asked_by,
        same_person,
        signed_at,
        recorded_at: instant::from_micros(row.recorded_at),
        withdrawal,
    }
}
