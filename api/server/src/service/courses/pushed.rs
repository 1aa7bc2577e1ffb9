//! Courses from the rows of a sheet, each judged alone: set up, there already, or refused with what to
//! do about it.

use sea_orm::DatabaseTransaction;
use types::{NewCourse, Violation};

use super::{given, not_a_job, replace_lists, row};
use crate::service::{Context, Error};
use crate::store;

/// What became of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pushing {
    /// It is set up, and what it is called.
    In(String),
    /// It was set up before, just so.
    AlreadyIn,
    /// It is not, and what to do.
    Refused(String),
}

/// Sets up the courses of rows that can be read; or only says what would become of them.
pub async fn push(
    context: &Context,
    rows: Vec<Result<NewCourse, String>>,
    only_try: bool,
) -> Result<Vec<Pushing>, Error> {
    if only_try {
        let tried = context.writer.rehearse(|tx| Box::pin(push_all(tx, rows)));
        return tried.await;
    }
    let write = context.writer.write(|tx| Box::pin(push_all(tx, rows)));
    write.await
}

async fn push_all(
    tx: &DatabaseTransaction,
    rows: Vec<Result<NewCourse, String>>,
) -> Result<Vec<Pushing>, Error> {
    let mut outcomes = Vec::with_capacity(rows.len());
    for row in rows {
        outcomes.push(match row {
            Err(why) => Pushing::Refused(why),
            Ok(new) => match push_one(tx, &new).await {
                // All that can be wrong with a row is found before anything of it is written.
                Err(Error::Invalid(found)) => Pushing::Refused(told(&found)),
                other => other?,
            },
        });
    }
    Ok(outcomes)
}

async fn push_one(tx: &DatabaseTransaction, new: &NewCourse) -> Result<Pushing, Error> {
    let checked = new.check()?;
    if let Some(known) = store::courses::find(tx, &new.code).await? {
        let known = given(tx, known).await?;
        let differing = differing(&known, new, checked.ends);
        return Ok(if differing.is_empty() {
            Pushing::AlreadyIn
        } else {
            Pushing::Refused(format!(
                "{} is set up otherwise ({}): change it there, or give this row another code",
                known.code,
                differing.join(", ")
            ))
        });
    }
    not_a_job(tx, &new.code).await?;
    let row = row(tx, new, &checked).await?;
    let row = store::courses::insert(tx, row).await?;
    replace_lists(tx, row.id, new).await?;
    Ok(Pushing::In(format!("set up as {}", row.code)))
}

/// What is set up otherwise than a row says, both told; what the row leaves open differs from nothing.
fn differing(known: &NewCourse, new: &NewCourse, ends: chrono::NaiveDate) -> Vec<String> {
    let days = |days: Option<i64>| days.map(|it| it.to_string());
    let is_told = |list: &[String]| (!list.is_empty()).then(|| list.join("; "));
    let both = [
        (
            "starts",
            Some(known.starts.to_string()),
            Some(new.starts.to_string()),
        ),
        (
            "ends",
            known.ends.map(|it| it.to_string()),
            Some(ends.to_string()),
        ),
        ("heads", days(Some(known.heads)), days(Some(new.heads))),
        ("days", days(known.days), days(new.days)),
        (
            "stations",
            days(Some(known.stations)),
            days(Some(new.stations)),
        ),
        ("kit", Some(known.kit.clone()), Some(new.kit.clone())),
        ("site", known.site.clone(), new.site.clone()),
        ("name", known.name.clone(), new.name.clone()),
        (
            "exercises",
            is_told(&known.exercises),
            is_told(&new.exercises),
        ),
    ];
    let told = both.into_iter().filter_map(|(field, known, new)| {
        let (known, new) = (known.unwrap_or_default(), new?);
        (!known.eq_ignore_ascii_case(&new)).then(|| format!("{field} {known}, here {new}"))
    });
    told.collect()
}

fn told(found: &[Violation]) -> String {
    let told = found.iter().map(|it| {
        let field = it.pointer.trim_start_matches('/');
        format!("{field}: {}", it.detail)
    });
    told.collect::<Vec<_>>().join("; ")
}
