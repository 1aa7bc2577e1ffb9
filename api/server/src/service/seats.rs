//! Seats of parts, as the shop has them. What fits follows from them, in [`fits`](super::fits).

use std::collections::HashMap;

use domain::part::{BodyFamily, PartSpec};
use domain::seat::{Offer, Pattern, Seat, Seats};
use domain::size::RodLength;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{NewPartSeats, Page, PartSeats, PartSeatsPage, TORCH_KIND};

use super::{Context, Error, codes};
use crate::store;
use crate::store::entity::seats;

/// Several offers in one column.
const BETWEEN: &str = "; ";

/// A page of seats.
pub async fn list(context: &Context, page: &Page) -> Result<PartSeatsPage, Error> {
    let db = context.store.read();
    let rows = store::seats::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(PartSeatsPage {
        seats: views(db, rows).await?,
        next,
    })
}

/// One entry.
pub async fn get(context: &Context, code: &str) -> Result<PartSeats, Error> {
    let db = context.store.read();
    view(db, codes::seats(db, code).await?).await
}

/// Adds an entry: a pattern that has none yet, or a part that differs from its pattern.
pub async fn create(context: &Context, new: NewPartSeats) -> Result<PartSeats, Error> {
    new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = row(tx, &new).await?;
            keep_subject(tx, &row, None).await?;
            let taken = codes::taken("entry of seats", &new.code);
            view(tx, store::seats::insert(tx, row).await.map_err(taken)?).await
        })
    });
    write.await
}

/// Replaces an entry.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewPartSeats,
) -> Result<PartSeats, Error> {
    codes::keep_code(code, &new.code)?;
    new.check()?;
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::seats(tx, &code).await?;
            codes::check_version("entry of seats", &old.code, old.version, seen)?;
            let row = seats::ActiveModel {
                code: NotSet,
                code_key: NotSet,
                ..row(tx, &new).await?
            };
            keep_subject(tx, &row, Some(old.id)).await?;
            store::seats::update(tx, (old.id, old.version), row).await?;
            view(tx, codes::seats(tx, &code).await?).await
        })
    });
    write.await
}

/// Removes an entry. Parts of its pattern then have no seats that are known.
pub async fn delete(context: &Context, code: &str, seen: i64) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::seats(tx, &code).await?;
            codes::check_version("entry of seats", &old.code, old.version, seen)?;
            Ok(store::seats::delete(tx, old.id).await?)
        })
    });
    write.await
}

/// One entry a pattern and one a part: two would contradict each other.
async fn keep_subject(
    db: &impl ConnectionTrait,
    row: &seats::ActiveModel,
    own: Option<i64>,
) -> Result<(), Error> {
    let subject = row.subject_key.clone().take();
    let all = store::seats::all(db).await?;
    let other = all
        .iter()
        .find(|other| Some(&other.subject_key) == subject.as_ref() && Some(other.id) != own);
    other.map_or(Ok(()), |other| {
        let field = if other.part_id.is_some() {
            "/part"
        } else {
            "/kind"
        };
        let why = format!("{} has its seats already; edit that entry", other.code);
        Err(Error::invalid(field, why))
    })
}

async fn row(db: &impl ConnectionTrait, new: &NewPartSeats) -> Result<seats::ActiveModel, Error> {
    let told = new.check()?;
    let part = match &new.part {
        Some(part) => Some(codes::named_part(db, "/part", part).await?),
        None => None,
    };
    let small = |text: &Option<String>| text.as_deref().map(str::to_lowercase);
    let cells = [&new.kind, &new.family, &new.pattern];
    let pattern = cells.map(|cell| small(cell).unwrap_or_default()).join("/");
    let subject = part.as_ref().map_or(pattern, |part| part_key(part.id));
    let offers: Vec<String> = told.offers().iter().map(Offer::to_string).collect();
    Ok(seats::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        subject_key: Set(subject),
        kind: Set(small(&new.kind)),
        family: Set(small(&new.family)),
        pattern: Set(small(&new.pattern)),
        part_id: Set(part.map(|part| part.id)),
        takes: Set(told.takes().map(Seat::to_string)),
        offers: Set(offers.join(BETWEEN)),
        longest_rod_um: Set(told.longest_rod().map(RodLength::um)),
        source: Set(new.source.clone()),
        note: Set(new.note.clone()),
        checked: Set(new.checked),
        version: Set(1),
        ..Default::default()
    })
}

fn part_key(part: i64) -> String {
    format!("part/{part}")
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<seats::Model>,
) -> Result<Vec<PartSeats>, Error> {
    let parts = store::parts::get_many(db, rows.iter().filter_map(|row| row.part_id)).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|part| (part.id, part.code)).collect();
    let view = |row: seats::Model| {
        let rod = row
            .longest_rod_um
            .and_then(|um| RodLength::from_um(um).ok());
        let new = NewPartSeats {
            part: row.part_id.and_then(|id| parts.get(&id).cloned()),
            offers: offers(&row).map(str::to_owned).collect(),
            longest_rod: rod.map(|rod| rod.to_string()),
            code: row.code,
            kind: row.kind,
            family: row.family,
            pattern: row.pattern,
            takes: row.takes,
            source: row.source,
            note: row.note,
            checked: row.checked,
        };
        new.into_view(row.version)
    };
    Ok(rows.into_iter().map(view).collect())
}

async fn view(db: &impl ConnectionTrait, row: seats::Model) -> Result<PartSeats, Error> {
    let lost = || Error::Internal("seats were lost while they were shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}

fn offers(row: &seats::Model) -> impl Iterator<Item = &str> {
    row.offers.split(BETWEEN).filter(|offer| !offer.is_empty())
}

/// All seats that the shop knows, to look up those of a part.
#[derive(Debug)]
pub struct SeatBook {
    by_subject: HashMap<String, (Seats, bool)>,
}

impl SeatBook {
    /// Reads them.
    pub async fn load(db: &impl ConnectionTrait) -> Result<Self, Error> {
        let mut by_subject = HashMap::new();
        for row in store::seats::all(db).await? {
            let seats = read(&row)?;
            by_subject.insert(row.subject_key, (seats, row.checked));
        }
        Ok(Self { by_subject })
    }

    /// The seats of a part, its own before those of its pattern, and whether the shop has checked them.
    pub fn of(&self, part: i64, spec: &PartSpec) -> Option<&(Seats, bool)> {
        let pattern = Pattern::of(spec);
        let kind = pattern.kind.map_or(TORCH_KIND, |kind| kind.as_str());
        let key = [
            kind,
            pattern.family.unwrap_or(""),
            pattern.within.unwrap_or(""),
        ]
        .join("/");
        let own = self.by_subject.get(&part_key(part));
        own.or_else(|| self.by_subject.get(&key))
    }

    /// The seats of the head of a torch of that family, and whether the shop has checked them.
    ///
    /// # Errors
    /// [`Error::WrongState`] if they were removed.
    pub fn head(&self, family: BodyFamily) -> Result<&(Seats, bool), Error> {
        let family = family.as_str();
        let unknown = || {
            Error::WrongState(format!(
                "the seats of a {family}-body torch are not known; add an entry of kind torch to the seats"
            ))
        };
        let head = self.by_subject.get(&format!("{TORCH_KIND}/{family}/"));
        head.ok_or_else(unknown)
    }
}

fn read(row: &seats::Model) -> Result<Seats, Error> {
    let spoilt = |error: domain::seat::SeatsError| {
        Error::Internal(format!("the seats of {} cannot be read: {error}", row.code))
    };
    let takes = row
        .takes
        .as_deref()
        .map(Seat::parse)
        .transpose()
        .map_err(spoilt)?;
    let told: Result<Vec<Offer>, _> = offers(row).map(Offer::parse).collect();
    let rod = row
        .longest_rod_um
        .and_then(|um| RodLength::from_um(um).ok());
    Seats::new(takes, told.map_err(spoilt)?, rod).map_err(spoilt)
}
