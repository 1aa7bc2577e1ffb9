//! What torches lend to each other: the lender is incomplete until the part is put back, or another
//! one is fitted there.

use std::collections::HashMap;

use sea_orm::ConnectionTrait;
use types::{Borrowing, BorrowingPage, ListBorrowings, Page};

use super::{Shelved, Trial};
use crate::service::{Context, Error, instant, torches};
use crate::store;
use crate::store::entity::{borrowings, parts, torches as torch_rows};

/// The part is in the torch that lent it again.
const PUT_BACK: &str = "put back";
/// The torch that lent it has another.
const REPLACED: &str = "replaced";

/// A page of borrowings.
pub async fn list(context: &Context, query: &ListBorrowings) -> Result<BorrowingPage, Error> {
    let db = context.store.read();
    let before = match query.after.as_deref() {
        None => None,
        Some(after) => Some(after.parse().map_err(|_| {
            Error::invalid(
                "?after",
                format!("{after} is not the next of a page; leave it out"),
            )
        })?),
    };
    let page = Page {
        limit: query.limit,
        after: None,
    };
    let rows = store::borrowings::list(db, query.open, (before, page.limit())).await?;
    let is_more = rows.len() as u64 >= page.limit();
    let next = rows
        .last()
        .filter(|_| is_more)
        .map(|row| row.id.to_string());
    Ok(BorrowingPage {
        borrowings: views(db, rows).await?,
        next,
    })
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<borrowings::Model>,
) -> Result<Vec<Borrowing>, Error> {
    let parts = store::parts::get_many(db, rows.iter().map(|row| row.part_id)).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|row| (row.id, row.code)).collect();
    let torches = rows
        .iter()
        .flat_map(|row| [row.from_torch_id, row.to_torch_id]);
    let torches = store::torches::get_many(db, torches).await?;
    let torches: HashMap<i64, String> = torches.into_iter().map(|row| (row.id, row.code)).collect();
    let view = |row: borrowings::Model| {
        Some(Borrowing {
            number: row.id,
            part: parts.get(&row.part_id)?.clone(),
            from: torches.get(&row.from_torch_id)?.clone(),
            to: torches.get(&row.to_torch_id)?.clone(),
            borrowed_at: instant::from_micros(row.borrowed_at),
            ended_at: row.ended_at.map(instant::from_micros),
            ended_as: row.ended_as,
        })
    };
    Ok(rows.into_iter().filter_map(view).collect())
}

/// A torch lends only what is fitted in it, to another torch of its site.
pub(super) async fn check_lender(
    db: &impl ConnectionTrait,
    (to, from): (&torch_rows::Model, &torch_rows::Model),
    parts: &[parts::Model],
) -> Result<(), Error> {
    let refuse = |why: String| Err(Error::invalid("/from", why));
    if to.id == from.id {
        return refuse(format!(
            "{} cannot lend to itself; name another torch",
            from.code
        ));
    }
    if to.site_id != from.site_id {
        let why = "is at another site; move the part with a transfer instead";
        return refuse(format!("{} {why}", from.code));
    }
    let fitted = torches::fitted_at(db, &[from.id], None)
        .await?
        .remove(&from.id);
    let fitted = fitted.unwrap_or_default();
    match parts.iter().find(|part| !fitted.contains(&part.id)) {
        None => Ok(()),
        Some(part) => refuse(format!(
            "{} is not fitted in {}; see what is, or fit one from the drawer",
            part.code, from.code
        )),
    }
}

/// What a fit means for what is lent: taken from a torch, put back, or replaced; in sentences.
pub(super) async fn follow(
    db: &impl ConnectionTrait,
    trial: &Trial,
    now: i64,
) -> Result<Vec<String>, Error> {
    let open = store::borrowings::open_from(db, [trial.torch.id]).await?;
    let shelved = |part: i64| {
        trial
            .shelf
            .index(part)
            .map(|index| &trial.shelf.parts[index])
    };
    let mut lent = Vec::new();
    let mut says = Vec::new();
    for tried in &trial.tried {
        let part = &trial.shelf.parts[*tried];
        let returns = |row: &borrowings::Model| {
            let from = trial.from.as_ref().map(|from| from.id);
            row.part_id == part.row.id && Some(row.to_torch_id) == from
        };
        let same_joint = |row: &&borrowings::Model| {
            part.joint().is_some() && shelved(row.part_id).and_then(Shelved::joint) == part.joint()
        };
        for row in open.iter().filter(same_joint) {
            let how = if returns(row) { PUT_BACK } else { REPLACED };
            store::borrowings::end(db, row.id, now, how).await?;
        }
        let Some(from) = &trial.from else { continue };
        let (code, from) = (&part.row.code, &from.code);
        if open.iter().any(returns) {
            says.push(format!("{code} is put back; {from} has none now."));
        } else {
            says.push(format!(
                "{from} is incomplete until {code} is put back, or another is fitted."
            ));
            lent.push(part.row.id);
        }
    }
    let Some(from) = &trial.from else {
        return Ok(says);
    };
    for part in lent {
        store::borrowings::insert(db, part, (from.id, trial.torch.id), now).await?;
    }
    let tried: Vec<i64> = trial
        .tried
        .iter()
        .map(|part| trial.shelf.parts[*part].row.id)
        .collect();
    let fitted = torches::fitted_at(db, &[from.id], None)
        .await?
        .remove(&from.id);
    let fitted = fitted.unwrap_or_default().into_iter();
    let left: Vec<i64> = fitted.filter(|part| !tried.contains(part)).collect();
    store::torches::insert_set_up(db, from.id, now, (&left, &[])).await?;
    torches::touch(db, from).await?;
    Ok(says)
}
