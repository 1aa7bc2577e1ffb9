//! Whether a forecast stays as fast as the ledger grows: forecasts in a second with a million entries on
//! record over those with a thousand. Both tell the same work and use of the same three years, the
//! million in smaller pieces, so both are asked for the same figures. What is kept of the ledger does
//! not grow with it, so the ratio should be 1.

use std::sync::OnceLock;

use chrono::{DateTime, FixedOffset, TimeDelta, Utc};
use types::{NewUsage, NewUsageBatch};

use crate::load::{self, Load};
use crate::service::{PART, Service, TORCH};
use crate::{compare, explain};

/// Entries on record.
const FEW: usize = 1_000;
const MANY: usize = 1_000_000;
/// Minutes of arc time in all, and entries that took a part.
const ARC_MINUTES: usize = 1_000_000;
const TOOK: usize = 100;
/// As many as one batch takes.
const BATCH: usize = 1_000;
/// How long ago the first entry happened.
const YEARS_BACK: TimeDelta = TimeDelta::days(3 * 365);
/// How many connections ask.
const CONNECTIONS: usize = 2;

/// What is asked for: use over work of a given size, or over the days to come.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Asked {
    Work,
    Days,
}

/// The ratio.
pub(crate) fn ratio(asked: Asked) -> Result<f64, String> {
    let (few, many) = shops()?;
    let asking = match asked {
        Asked::Work => work,
        Asked::Days => days,
    };
    let forecasts = |service: &Service, round| {
        load::run(&Load {
            address: service.address,
            secret: service.secret.clone(),
            connections: CONNECTIONS,
            round,
            expected: 200,
            asking,
        })
    };
    compare(
        &format!("forecasts of {asked:?} after {FEW} and {MANY} entries"),
        |round| forecasts(few, round),
        |round| forecasts(many, round),
    )
}

/// The two services, filled once for both figures.
fn shops() -> Result<(&'static Service, &'static Service), String> {
    static SHOPS: OnceLock<Result<(Service, Service), String>> = OnceLock::new();
    let shops = SHOPS.get_or_init(|| Ok((filled(FEW)?, filled(MANY)?)));
    shops
        .as_ref()
        .map(|(few, many)| (few, many))
        .map_err(Clone::clone)
}

#[expect(
    clippy::disallowed_methods,
    reason = "the service runs by the system's clock, so its history must end now"
)]
fn filled(entries: usize) -> Result<Service, String> {
    let service = Service::start()?;
    let first = (Utc::now() - YEARS_BACK).fixed_offset();
    for begin in (0..entries).step_by(BATCH) {
        let batch = NewUsageBatch {
            entries: (begin..begin + BATCH)
                .map(|at| entry(at, entries, first))
                .collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = service.ask(|client| async move { client.record_usage_batch(&batch).await })?;
        if told.entries.len() != BATCH || told.refused > 0 || told.kept_aside > 0 {
            return Err(format!("of a batch of {BATCH}: {}", told.says));
        }
    }
    explain(&format!("{entries} entries are on record"))?;
    Ok(service)
}

/// One of so many entries.
fn entry(at: usize, entries: usize, first: DateTime<FixedOffset>) -> NewUsage {
    let small = |number: usize| i32::try_from(number).unwrap_or(i32::MAX);
    let took = at.is_multiple_of(entries / TOOK);
    let each = i64::from(small(ARC_MINUTES / entries));
    NewUsage {
        id: Some(format!("entry-{at}")),
        torch: Some(TORCH.to_owned()),
        part: took.then(|| PART.to_owned()),
        what: took.then(|| "took".to_owned()),
        at: Some(first + YEARS_BACK / small(entries) * small(at)),
        arc_minutes: Some(each),
        by: Some("owner".to_owned()),
        ..NewUsage::default()
    }
}

fn work(asked: &load::Asked) -> String {
    get(asked, "/v1/forecasts?arc=34h")
}

fn days(asked: &load::Asked) -> String {
    get(asked, "/v1/forecasts/ahead?days=30")
}

fn get(asked: &load::Asked, path: &str) -> String {
    let secret = &asked.secret;
    format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {secret}\r\n\r\n")
}
