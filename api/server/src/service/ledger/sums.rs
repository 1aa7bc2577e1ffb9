//! Use added up by the shop's own days and months: those of its zone, not of UTC.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, NaiveDate};
use domain::ledger::MovementKind;
use types::{SumUsage, UsageSum, UsageSums};

use crate::service::{Context, Error, codes, instant};
use crate::store;

/// A year and a day: as much as one answer adds up.
const DAYS_MAX: i64 = 366;

/// What was used, by day or month.
pub async fn sum_usage(context: &Context, query: &SumUsage) -> Result<UsageSums, Error> {
    let db = context.store.read();
    let by = query.by.as_deref().unwrap_or("day");
    if !["day", "month"].contains(&by) {
        let why = format!("\"{by}\" is unknown; give day or month");
        return Err(Error::invalid("?by", why));
    }
    let days = (query.to - query.from).num_days();
    if !(0..=DAYS_MAX).contains(&days) {
        let why = format!(
            "{} is not within {DAYS_MAX} days after {}",
            query.to, query.from
        );
        return Err(Error::invalid("?to", why));
    }
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let part = match query.part.as_deref() {
        Some(code) => Some(codes::named_part(db, "?part", code).await?.id),
        None => None,
    };
    let zone = instant::site_zone(&site.zone);
    let end = query.to.checked_add_days(Days::new(1)).unwrap_or(query.to);
    let span = (
        instant::start_of_day(query.from, zone).timestamp_micros(),
        instant::start_of_day(end, zone).timestamp_micros(),
    );
    let rows = store::movements::within(db, (part, site.id), span).await?;
    let mut sums: BTreeMap<(NaiveDate, i64), i64> = BTreeMap::new();
    for row in rows {
        let used = MovementKind::parse(&row.kind).map_or(0, |kind| kind.wear_events(row.quantity));
        let day = instant::from_micros(row.happened_at)
            .with_timezone(&zone)
            .date_naive();
        let first = if by == "month" {
            day.with_day(1).unwrap_or(day)
        } else {
            day
        };
        *sums.entry((first, row.part_id)).or_default() += used;
    }
    let parts = store::parts::get_many(db, sums.keys().map(|(_, part)| *part)).await?;
    let sums = sums.into_iter().filter(|(_, used)| *used != 0);
    let sums = sums.filter_map(|((from, id), used)| {
        let part = parts.iter().find(|part| part.id == id)?.code.clone();
        Some(UsageSum { from, part, used })
    });
    Ok(UsageSums {
        site: site.code.clone(),
        zone: site.zone.clone(),
        by: by.to_owned(),
        sums: sums.collect(),
    })
}
