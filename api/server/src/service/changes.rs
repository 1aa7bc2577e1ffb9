//! What changed at a site between two instants. What is to be done next is in `next`, what changed of each
//! sort in `groups`.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use sea_orm::ConnectionTrait;
use types::{ChangeGroup, ChangeLine, Changes, GetChanges, NextStep};

use super::known::View;
use super::{Context, Error, codes, due, instant, parts};
use crate::store;
use crate::store::entity::{parts as part_rows, sites};

mod groups;
mod next;

/// So many lines of what is to be done are shown: what is read at one look.
const STEPS_MAX: usize = 7;
/// So many lines of each sort.
const LINES_MAX: usize = 12;
/// Since when unless told: the shifts that somebody comes back from.
const SINCE_DEFAULT: &str = "2w";
/// More parts than any shop has.
const PARTS_MAX: u64 = 5_000;

/// The site and the two instants.
struct Between {
    site: sites::Model,
    zone: Tz,
    from: DateTime<Utc>,
    view: View,
    parts: BTreeMap<i64, part_rows::Model>,
    expected: Vec<due::Expected>,
}

impl Between {
    /// The later instant.
    fn to(&self) -> DateTime<Utc> {
        self.view.at
    }

    /// Both in microseconds.
    fn micros(&self) -> (i64, i64) {
        (
            self.from.timestamp_micros(),
            self.view.at.timestamp_micros(),
        )
    }

    /// The day of an instant at the site, as people write it.
    fn day(&self, at: DateTime<Utc>) -> String {
        at.with_timezone(&self.zone).format("%a %-d %b").to_string()
    }

    /// An amount of a part with its code: `10 WLa20-2.4`.
    fn amount(&self, part: i64, amount: i64) -> Result<String, Error> {
        match self.parts.get(&part) {
            None => Ok(amount.to_string()),
            Some(row) => {
                let unit = parts::spec(row)?.kind().unit();
                Ok(format!("{} {}", unit.amount(amount), row.code))
            }
        }
    }

    fn code(&self, part: i64) -> Option<String> {
        self.parts.get(&part).map(|row| row.code.clone())
    }
}

/// What changed.
pub async fn get(context: &Context, query: &GetChanges) -> Result<Changes, Error> {
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let zone = instant::site_zone(&site.zone);
    let since = query.since.as_deref().unwrap_or(SINCE_DEFAULT);
    let from = instant::since(since, (at, zone))?;
    let between = between(db, &site, (from, at)).await?;
    let steps = next::steps(db, &between).await?;
    let groups = groups::all(db, &between).await?;
    Ok(told(&between, steps, groups))
}

/// What is to be done at a site at an instant, in the order of time.
///
/// # Errors
/// A failure of the store.
pub async fn steps(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    at: DateTime<Utc>,
) -> Result<Vec<NextStep>, Error> {
    next::steps(db, &between(db, site, (at, at)).await?).await
}

async fn between(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    (from, at): (DateTime<Utc>, DateTime<Utc>),
) -> Result<Between, Error> {
    let zone = instant::site_zone(&site.zone);
    let rows = store::parts::list(db, None, PARTS_MAX).await?;
    let view = View::present(at);
    Ok(Between {
        expected: due::expected(db, (view, zone), site.id).await?,
        site: site.clone(),
        zone,
        from,
        view,
        parts: rows.into_iter().map(|row| (row.id, row)).collect(),
    })
}

fn told(between: &Between, mut next: Vec<NextStep>, groups: Vec<ChangeGroup>) -> Changes {
    let more = next.len().saturating_sub(STEPS_MAX);
    next.truncate(STEPS_MAX);
    let says = says(between, &next, &groups);
    Changes {
        site: between.site.code.clone(),
        from: between.from,
        to: between.to(),
        next,
        more: i64::try_from(more).unwrap_or(i64::MAX),
        groups,
        says,
    }
}

/// `Since Mon 1 Jun: 2 arrived, 5 used, 1 ran low. First: order by Wed 24 Jun 12:00 for R-118.`
fn says(between: &Between, next: &[NextStep], groups: &[ChangeGroup]) -> String {
    let since = between.day(between.from);
    let counts: Vec<String> = groups
        .iter()
        .map(|group| {
            let lines = i64::try_from(group.lines.len()).unwrap_or(0) + group.more;
            format!("{lines} {}", group.title.to_lowercase())
        })
        .collect();
    let changed = if counts.is_empty() {
        "nothing".to_owned()
    } else {
        counts.join(", ")
    };
    let first = next.first().map_or_else(
        || "Nothing is to be done.".to_owned(),
        |step| format!("First: {}", step.says),
    );
    format!("Since {since}: {changed}. {first}")
}

/// A group of lines, cut where nobody reads on; nothing without any.
fn group(kind: &str, title: &str, mut lines: Vec<ChangeLine>) -> Option<ChangeGroup> {
    let more = lines.len().saturating_sub(LINES_MAX);
    lines.truncate(LINES_MAX);
    (!lines.is_empty()).then(|| ChangeGroup {
        kind: kind.to_owned(),
        title: title.to_owned(),
        lines,
        more: i64::try_from(more).unwrap_or(i64::MAX),
    })
}

/// The codes of the suppliers of those orders, by their ids.
async fn suppliers_of(
    db: &impl ConnectionTrait,
    ids: impl Iterator<Item = i64>,
) -> Result<BTreeMap<i64, String>, Error> {
    let rows = store::suppliers::get_many(db, ids).await?;
    Ok(rows.into_iter().map(|row| (row.id, row.code)).collect())
}
