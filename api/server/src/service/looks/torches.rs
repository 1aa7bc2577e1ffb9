//! The weekly check of torches: whether one uses electrodes faster than the others. An alarm is raised by the
//! first look of a week, so that the number of looks does not raise the number of false alarms; one that
//! stands is read at every look, so that a repair closes it. What is found is in `torch_wear`.

use chrono::{DateTime, Datelike, Days, Utc};
use domain::torch_wear::Check;
use domain::warning::{Reading, WarningKind};
use sea_orm::ConnectionTrait;

use super::candidate::Candidate;
use crate::service::known::View;
use crate::service::torch_wear::{self, TorchReading};
use crate::service::watches::{CHANNELS_DEFAULT, Subject, Watched};
use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::sites;

/// Hours that are lost to a torch that eats electrodes until it is mended (invented).
const HOURS_LOST: f64 = 1.0;

/// What there is to say of the torches of a site at a look at everything, or at some parts. A torch whose watch
/// is off is left out; where it has one, that says where it is told.
pub(super) async fn look(
    db: &impl ConnectionTrait,
    (site, now): (&sites::Model, DateTime<Utc>),
    (watched, is_whole): (&[Watched], bool),
) -> Result<Vec<Candidate>, Error> {
    let candidate = |read: &TorchReading| {
        let code = &read.torch;
        let is_of =
            |it: &&Watched| matches!(&it.subject, Subject::Torch(torch) if torch.code == *code);
        let watch = watched.iter().find(is_of);
        let is_on = watch.is_none_or(|it| !it.is_off());
        is_on.then(|| candidate(site.id, read, watch))
    };
    let mut candidates: Vec<Candidate> = Vec::new();
    let rows = store::warnings::open_at(db, site.id).await?;
    let rows = rows
        .into_iter()
        .filter(|row| row.kind == WarningKind::TorchWear.as_str());
    let standing: Vec<String> = rows.filter_map(|row| row.open_subject).collect();
    if is_whole && !standing.is_empty() {
        let readings = torch_wear::readings(db, site, View::present(now)).await?;
        candidates.extend(readings.iter().filter_map(candidate));
        // What does not stand yet waits for the check of the week.
        candidates.retain(|it| standing.contains(&it.key));
    }
    let monday = this_week(site, now);
    let last = store::warnings::look(db, site.id).await?;
    if last.is_none_or(|last| last.looked_at < monday.timestamp_micros()) {
        let readings = torch_wear::readings(db, site, View::present(monday)).await?;
        let found = readings.iter().filter_map(candidate);
        let new: Vec<Candidate> = found
            .filter(|it| candidates.iter().all(|known| known.key != it.key))
            .collect();
        candidates.extend(new);
    }
    Ok(candidates)
}

/// When the week began at the site: Monday 00:00.
fn this_week(site: &sites::Model, now: DateTime<Utc>) -> DateTime<Utc> {
    let zone = instant::site_zone(&site.zone);
    let today = now.with_timezone(&zone).date_naive();
    let since = u64::from(today.weekday().num_days_from_monday());
    let monday = today.checked_sub_days(Days::new(since)).unwrap_or(today);
    instant::start_of_day(monday, zone)
}

fn candidate(site: i64, read: &TorchReading, watch: Option<&Watched>) -> Candidate {
    let kind = WarningKind::TorchWear;
    let says = says(read);
    Candidate {
        kind,
        key: format!("{site}:{}:{}:{}", kind.as_str(), read.torch, read.part),
        subject: read.torch.clone(),
        part: None,
        job: None,
        course: None,
        channels: watch.map_or_else(
            || CHANNELS_DEFAULT.map(str::to_owned).to_vec(),
            |watch| watch.channels.clone(),
        ),
        reading: Reading {
            is_low: read.alarm,
            is_clear: !read.alarm,
            chance: 0.0,
            on_hand: 0,
            on_order_until: None,
        },
        weight: if read.alarm { HOURS_LOST } else { 0.0 },
        louder: says.clone(),
        says,
        figures: None,
    }
}

/// What was found, and what to look at first.
fn says(read: &TorchReading) -> String {
    let found = read.wear.says.join(" ");
    let named = read.wear.checks.iter().map(|it| Check::parse(&it.check));
    let mut first = named.filter_map(Result::ok).map(Check::noun);
    match (first.next(), first.next()) {
        (Some(first), Some(second)) => format!(
            "{found} Next: check {first}, then {second}; the whole list: tigstock explain {}.",
            read.torch
        ),
        _ => found,
    }
}
