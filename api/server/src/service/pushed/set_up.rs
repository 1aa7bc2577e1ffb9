//! Rows that set something up: a course, a part, an offer. Each is judged alone within one transaction; what is set up
//! already just so is left, and what is set up otherwise is for a person.

use std::sync::Arc;

use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use serde::Serialize;
use serde_json::Value;

use super::{Judged, Outcome, Pushing, refusals};
use crate::service::{Context, Error};

/// What became of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Became {
    /// It is set up, or has changed, and in words how.
    SetUp(String),
    /// It was set up before, just so.
    Known,
    /// It is not, and what to do.
    Refused(String),
}

/// What a row sets up. All that can be wrong with it has to be found before anything of it is written.
pub trait SetUp: Send + Sync + 'static {
    /// Sets it up.
    ///
    /// # Errors
    /// What is wrong with the row, or a failure of the store.
    fn set_up(
        &self,
        tx: &DatabaseTransaction,
        now: DateTime<Utc>,
    ) -> impl Future<Output = Result<Became, Error>> + Send;
}

/// A row that could be read, with what was guessed; or what is wrong with it.
pub(super) type Prepared<T> = Result<(T, String), String>;

/// Sets up what the rows say, and says of each what became of it.
pub(super) async fn push<T: SetUp>(
    context: &Context,
    how: &Pushing,
    rows: Vec<Prepared<T>>,
) -> Result<Vec<Judged>, Error> {
    let (rows, now) = (Arc::new(rows), context.clock.now());
    if !how.only_try && !how.all_or_none {
        let write = context
            .writer
            .write(move |tx| Box::pin(async move { set_up(tx, &rows, now).await }));
        return write.await;
    }
    let mut judged = rehearsed(context, &rows, now).await?;
    let is_wanted = how.all_or_none && !how.only_try;
    if is_wanted && judged.iter().all(is_in) && !all(context, &rows, now).await? {
        // Something else was written in between: what is wrong now is told.
        judged = rehearsed(context, &rows, now).await?;
    }
    if how.all_or_none {
        super::none_alone(&mut judged);
    }
    Ok(judged)
}

fn is_in(judged: &Judged) -> bool {
    !judged.outcome.needs_a_person()
}

async fn rehearsed<T: SetUp>(
    context: &Context,
    rows: &Arc<Vec<Prepared<T>>>,
    now: DateTime<Utc>,
) -> Result<Vec<Judged>, Error> {
    let rows = Arc::clone(rows);
    let work = context
        .writer
        .rehearse(move |tx| Box::pin(async move { set_up(tx, &rows, now).await }));
    work.await
}

/// Sets up all, or nothing if one of them needs a person; and whether they are in.
async fn all<T: SetUp>(
    context: &Context,
    rows: &Arc<Vec<Prepared<T>>>,
    now: DateTime<Utc>,
) -> Result<bool, Error> {
    let rows = Arc::clone(rows);
    let work = context.writer.write(move |tx| {
        Box::pin(async move {
            if set_up(tx, &rows, now).await?.iter().all(is_in) {
                return Ok(());
            }
            // What fails is undone.
            Err(Error::WrongState("a row needs a person".to_owned()))
        })
    });
    match work.await {
        Ok(()) => Ok(true),
        Err(Error::WrongState(_)) => Ok(false),
        Err(error) => Err(error),
    }
}

async fn set_up<T: SetUp>(
    tx: &DatabaseTransaction,
    rows: &[Prepared<T>],
    now: DateTime<Utc>,
) -> Result<Vec<Judged>, Error> {
    let mut judged = Vec::with_capacity(rows.len());
    for row in rows {
        judged.push(match row {
            Err(why) => Judged::refused(why),
            Ok((new, note)) => told(new.set_up(tx, now).await, note)?,
        });
    }
    Ok(judged)
}

fn told(became: Result<Became, Error>, note: &str) -> Result<Judged, Error> {
    let (outcome, says) = match became {
        Ok(Became::SetUp(says)) => (Outcome::In, says),
        Ok(Became::Known) => (Outcome::AlreadyIn, String::new()),
        Ok(Became::Refused(why)) => return Ok(Judged::refused(why)),
        Err(error @ (Error::Invalid(_) | Error::AlreadyExists { .. } | Error::NotFound { .. })) => {
            return Ok(Judged::refused(refusals::told(&error)));
        }
        Err(error) => return Err(error),
    };
    let lines = [note, &says].into_iter().filter(|it| !it.is_empty());
    Ok(Judged {
        outcome,
        what_to_do: lines.collect::<Vec<_>>().join("; "),
    })
}

/// What is set up otherwise than a row says, both told; what the row leaves open differs from nothing.
///
/// # Errors
/// [`Error::Internal`] if one of them has no JSON, which every body has.
pub fn differing(known: &impl Serialize, new: &impl Serialize) -> Result<Vec<String>, Error> {
    let json = |it: serde_json::Result<Value>| it.map_err(|why| Error::Internal(why.to_string()));
    let known = json(serde_json::to_value(known))?;
    let new = json(serde_json::to_value(new))?;
    let fields = new.as_object().into_iter().flatten();
    let told = fields.filter_map(|(field, new)| {
        let (known, new) = (text(known.get(field)), text(Some(new)));
        let is_other = !new.is_empty() && !known.eq_ignore_ascii_case(&new);
        let known = if known.is_empty() { "nothing" } else { &known };
        is_other.then(|| format!("{field} {known}, here {new}"))
    });
    Ok(told.collect())
}

/// A value as people write it in a cell.
fn text(value: Option<&Value>) -> String {
    match value {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Array(list)) => {
            let list = list.iter().map(|it| text(Some(it)));
            list.collect::<Vec<_>>().join("; ")
        }
        Some(other) => other.to_string(),
    }
}
