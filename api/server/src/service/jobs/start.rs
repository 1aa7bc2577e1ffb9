//! When a job starts: how it is kept, and that it is still to come.

use chrono::{DateTime, NaiveDate, NaiveTime, Timelike, Utc};
use sea_orm::ConnectionTrait;
use types::{NewJob, START_DEFAULT};

use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::jobs;

/// How the day of the start is kept.
pub(super) const DAY: &str = "%Y-%m-%d";

/// The day a job starts.
///
/// # Errors
/// [`Error::Internal`] if the row does not hold a day, which no check lets in.
pub fn start(row: &jobs::Model) -> Result<NaiveDate, Error> {
    NaiveDate::parse_from_str(&row.start, DAY)
        .map_err(|_| Error::Internal(format!("the start of job {} cannot be read back", row.code)))
}

/// The minute of the day at which a job starts, if it is told.
pub(super) fn start_minute(new: &NewJob) -> Result<Option<i64>, Error> {
    let time = new
        .start_time()
        .map_err(|why| Error::invalid("/start_time", why))?;
    let minute = i64::from(time.num_seconds_from_midnight() / 60);
    Ok(new.start_time.as_ref().map(|_| minute))
}

/// A minute of the day as a time.
pub(super) fn clock(minute: i64) -> Option<NaiveTime> {
    let seconds = u32::try_from(minute.checked_mul(60)?).ok()?;
    NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0)
}

/// The local time at which a job starts on its first day.
pub fn start_time(row: &jobs::Model) -> NaiveTime {
    row.start_minute.and_then(clock).unwrap_or(START_DEFAULT)
}

/// A job is planned ahead: a start that is past is a slip more often than meant.
///
/// # Errors
/// A violation that names the start and what to do.
pub(super) async fn check_to_come(
    db: &impl ConnectionTrait,
    site: i64,
    new: &NewJob,
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let Some(site) = store::sites::get_many(db, [site]).await?.pop() else {
        return Ok(());
    };
    let local = now
        .with_timezone(&instant::site_zone(&site.zone))
        .naive_local();
    let start = new
        .start
        .and_time(new.start_time().unwrap_or(START_DEFAULT));
    if local < start {
        return Ok(());
    }
    let why = format!(
        "{} is past, it is {} now: give a start that is still to come. A job that has begun is set up with \
         begun=true",
        start.format("%a %-d %b %Y %H:%M"),
        local.format("%a %-d %b %Y %H:%M")
    );
    Err(Error::invalid("/start", why))
}
