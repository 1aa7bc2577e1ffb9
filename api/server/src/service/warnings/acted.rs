//! What people did about a warning of a job or a course: kept with it as it happens, since afterwards the work
//! looks as if it had always been so. The self-check counts by it.

use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;

use super::keep_message;
use crate::service::Error;
use crate::store;
use crate::store::entity::{courses, jobs};
use crate::store::work::Of;

/// What is kept of a warning about which something was done.
pub(super) const ACTED: &str = "acted";

/// Keeps with the warnings that were told about a piece of work that something was done about it.
///
/// # Errors
/// A failure of the store.
pub async fn note(
    db: &impl ConnectionTrait,
    of: Of,
    (says, now): (String, DateTime<Utc>),
) -> Result<(), Error> {
    for row in store::warnings::told_about(db, of).await? {
        keep_message(db, row.id, (ACTED, now), says.clone()).await?;
    }
    Ok(())
}

/// In what a job was made easier to supply, in words: it starts later, or there is less of it.
pub fn eased_job(old: &jobs::Model, new: &jobs::Model) -> Option<String> {
    let start = |it: &jobs::Model| (it.start.clone(), it.start_minute);
    let is_less = |was: Option<i64>, is: Option<i64>| was.zip(is).is_some_and(|(was, is)| is < was);
    let is_smaller = is_less(old.arc_seconds, new.arc_seconds)
        || is_less(old.grinds, new.grinds)
        || old.weeks.zip(new.weeks).is_some_and(|(was, is)| is < was);
    says(&new.code, (start(new) > start(old), &new.start), is_smaller)
}

/// The same of a course.
pub fn eased_course(old: &courses::Model, new: &courses::Model) -> Option<String> {
    let size = |it: &courses::Model| it.heads.saturating_mul(it.days);
    let is_later = new.starts > old.starts;
    says(&new.code, (is_later, &new.starts), size(new) < size(old))
}

/// Days are written so that they sort.
fn says(code: &str, (is_later, start): (bool, &str), is_smaller: bool) -> Option<String> {
    match (is_later, is_smaller) {
        (true, true) => Some(format!("{code} was moved to {start}, and made smaller.")),
        (true, false) => Some(format!("{code} was moved to {start}.")),
        (false, true) => Some(format!("{code} was made smaller.")),
        (false, false) => None,
    }
}
