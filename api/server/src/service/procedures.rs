//! Written procedures and their revisions. A revision is never changed: plans follow the one that they
//! were made by, and another revision is another one.

use std::collections::HashMap;

use domain::procedure::Requirement;
use sea_orm::ActiveValue::Set;
use sea_orm::ConnectionTrait;
use types::{
    NewProcedure, NewRevision, Page, Procedure, ProcedurePage, ProcedureRequirement, Revision,
    RevisionPage,
};

use super::{Context, Error, codes, instant};
use crate::store;
use crate::store::entity::{procedure_revisions as revisions, procedures};

mod in_force;
mod words;

pub use in_force::InForce;
pub(super) use words::dated;

/// A page of procedures, with the newest revision of each.
pub async fn list(context: &Context, page: &Page) -> Result<ProcedurePage, Error> {
    let db = context.store.read();
    let rows = store::procedures::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(ProcedurePage {
        procedures: views(db, rows).await?,
        next,
    })
}

/// One procedure, with its newest revision.
pub async fn get(context: &Context, code: &str) -> Result<Procedure, Error> {
    let db = context.store.read();
    view(db, codes::procedure(db, code).await?).await
}

/// Enters a procedure with its first revision.
pub async fn create(context: &Context, new: NewProcedure) -> Result<Procedure, Error> {
    let (number, _) = new.check()?;
    let now = context.clock.now().timestamp_micros();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = procedures::ActiveModel {
                code: Set(new.code.trim().to_owned()),
                code_key: Set(codes::key(&new.code)),
                name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
                created_at: Set(now),
                version: Set(1),
                ..Default::default()
            };
            let taken = codes::taken("procedure", &new.code);
            let row = store::procedures::insert(tx, row).await.map_err(taken)?;
            let revision = revisions::ActiveModel {
                procedure_id: Set(row.id),
                revision: Set(number),
                requires: Set(text(&new.requires)?),
                responsible: Set(new.responsible.clone()),
                why: Set(None),
                made_at: Set(now),
                ..Default::default()
            };
            store::procedure_revisions::insert(tx, revision).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// The revisions of a procedure, oldest first.
pub async fn list_revisions(
    context: &Context,
    code: &str,
    page: &Page,
) -> Result<RevisionPage, Error> {
    let db = context.store.read();
    let procedure = codes::procedure(db, code).await?;
    let after = page.after.as_deref().map(number).transpose()?;
    let mut rows = store::procedure_revisions::of_procedures(db, [procedure.id]).await?;
    rows.retain(|row| after.is_none_or(|after| row.revision > after));
    // A procedure has a handful of revisions, so a page is cut from all of them.
    rows.truncate(usize::try_from(page.limit()).unwrap_or(usize::MAX));
    let next = codes::next(&rows, page.limit(), |row| row.revision.to_string());
    let revisions = rows.iter().map(|row| told(row, &procedure));
    Ok(RevisionPage {
        revisions: revisions.collect::<Result<_, _>>()?,
        next,
    })
}

fn number(after: &str) -> Result<i64, Error> {
    after.parse().map_err(|_| {
        let why = format!("\"{after}\" is not the next of a page; start without it");
        Error::invalid("?after", why)
    })
}

/// One revision.
pub async fn get_revision(context: &Context, code: &str, number: &str) -> Result<Revision, Error> {
    let db = context.store.read();
    let (procedure, row) = find_revision(db, code, number).await?;
    told(&row, &procedure)
}

/// Enters a new revision.
pub async fn revise(context: &Context, code: &str, new: NewRevision) -> Result<Revision, Error> {
    new.check()?;
    let now = context.clock.now().timestamp_micros();
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let procedure = codes::procedure(tx, &code).await?;
            let before = store::procedure_revisions::of_procedures(tx, [procedure.id]).await?;
            let newest = before.last().ok_or_else(|| lost(&procedure))?;
            let number = new.revision.unwrap_or(newest.revision + 1);
            if number <= newest.revision {
                let why = format!(
                    "{number} is not above the newest, rev {}; a revision is never changed, so give {} or leave it out",
                    newest.revision,
                    newest.revision + 1
                );
                return Err(Error::invalid("/revision", why));
            }
            let row = revisions::ActiveModel {
                procedure_id: Set(procedure.id),
                revision: Set(number),
                requires: Set(text(&new.requires)?),
                responsible: Set(new.responsible.clone().or(newest.responsible.clone())),
                why: Set(new.why.clone()),
                made_at: Set(now),
                ..Default::default()
            };
            told(&store::procedure_revisions::insert(tx, row).await?, &procedure)
        })
    });
    write.await
}

/// A procedure and one of its revisions, by the names in an address.
pub(super) async fn find_revision(
    db: &impl ConnectionTrait,
    code: &str,
    number: &str,
) -> Result<(procedures::Model, revisions::Model), Error> {
    let procedure = codes::procedure(db, code).await?;
    let rows = store::procedure_revisions::of_procedures(db, [procedure.id]).await?;
    let wanted = number.parse().ok();
    let row = rows.into_iter().find(|row| Some(row.revision) == wanted);
    let row = row.ok_or_else(|| Error::NotFound {
        kind: "revision",
        key: format!("{number} of {}", procedure.code),
    })?;
    Ok((procedure, row))
}

fn text(requires: &ProcedureRequirement) -> Result<String, Error> {
    serde_json::to_string(requires).map_err(|error| Error::Internal(error.to_string()))
}

/// What a revision requires, as it was written and as it is meant.
fn requires(row: &revisions::Model) -> Result<(ProcedureRequirement, Requirement), Error> {
    let lost = || Error::Internal(format!("revision {} cannot be read back", row.id));
    let written: ProcedureRequirement = serde_json::from_str(&row.requires).map_err(|_| lost())?;
    let meant = written.requirement().map_err(|_| lost())?;
    Ok((written, meant))
}

/// What a revision permits.
pub(super) fn requirement(row: &revisions::Model) -> Result<Requirement, Error> {
    Ok(requires(row)?.1)
}

fn lost(procedure: &procedures::Model) -> Error {
    Error::Internal(format!("procedure {} has no revision", procedure.code))
}

fn told(row: &revisions::Model, procedure: &procedures::Model) -> Result<Revision, Error> {
    let (written, _) = requires(row)?;
    Ok(Revision {
        procedure: procedure.code.clone(),
        revision: row.revision,
        responsible: row.responsible.clone(),
        why: row.why.clone(),
        says: words::revision(&procedure.code, row.revision, &written),
        requires: written,
        made_at: instant::from_micros(row.made_at),
    })
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<procedures::Model>,
) -> Result<Vec<Procedure>, Error> {
    let all = store::procedure_revisions::of_procedures(db, rows.iter().map(|row| row.id)).await?;
    let mut of: HashMap<i64, Vec<revisions::Model>> = HashMap::new();
    for row in all {
        of.entry(row.procedure_id).or_default().push(row);
    }
    let views = rows.into_iter().map(|row| {
        let revisions = of.remove(&row.id).unwrap_or_default();
        let newest = revisions.last().ok_or_else(|| lost(&row))?;
        Ok(Procedure {
            newest: told(newest, &row)?,
            revisions: revisions.iter().map(|row| row.revision).collect(),
            created_at: instant::from_micros(row.created_at),
            code: row.code,
            name: row.name,
        })
    });
    views.collect()
}

async fn view(db: &impl ConnectionTrait, row: procedures::Model) -> Result<Procedure, Error> {
    let lost = || Error::Internal("a procedure was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
