//! A look at 200 watched parts against forecasts of the same parts, one by one as callers ask for them, in the
//! same run. For each part a look finds its order point, the chance of being short and what there is to say; it
//! writes only what has changed. Invented: 200 electrodes in 20 torches, with a year of work.

use std::time::Instant;

use chrono::TimeDelta;
use server::service::{Error, ahead, looks};
use tigstock_tests::builders::electrode;
use tigstock_tests::{TestServer, instant};
use tokio::runtime::Runtime;
use types::{GetForecastsAhead, NewLook, NewUsage, NewUsageBatch};

use crate::compare;
use crate::load::rate;

/// The torches, and the parts that are fitted in each.
const TORCHES: usize = 20;
const IN_EACH: usize = 10;
const PARTS: u32 = 200;
/// Weeks on record.
const WEEKS: i32 = 52;
/// A Monday.
const NOW: &str = "2026-06-15T12:00:00Z";
/// As many looks make one measurement.
const LOOKS: u32 = 3;

/// The ratio: parts that a look takes in a second, over forecasts in a second.
pub(crate) fn ratio() -> Result<f64, String> {
    let runtime = Runtime::new().map_err(|error| error.to_string())?;
    let server = runtime.block_on(shop());
    // What the first look opens is written by it, and not measured.
    runtime
        .block_on(look(&server))
        .map_err(|error| error.to_string())?;
    compare(
        &format!("forecasts of a part, and looks at {PARTS} parts"),
        |_| {
            let begin = Instant::now();
            for part in 0..PARTS {
                let told = runtime.block_on(forecast(&server, part));
                told.map_err(|error| error.to_string())?;
            }
            Ok(rate(PARTS, begin.elapsed()))
        },
        |_| {
            let begin = Instant::now();
            for _ in 0..LOOKS {
                let told = runtime.block_on(look(&server));
                told.map_err(|error| error.to_string())?;
            }
            Ok(rate(LOOKS * PARTS, begin.elapsed()))
        },
    )
}

async fn forecast(server: &TestServer, part: u32) -> Result<(), Error> {
    let query = GetForecastsAhead {
        part: Some(format!("rod-{part}")),
        ..GetForecastsAhead::default()
    };
    ahead::get(&server.context, &query).await.map(|_| ())
}

async fn look(server: &TestServer) -> Result<(), Error> {
    looks::look(&server.context, &NewLook::default())
        .await
        .map(|_| ())
}

/// The shop, with a hundred of each part and somebody who sells them.
async fn shop() -> TestServer {
    let server = TestServer::at("2025-06-01T12:00:00Z").await;
    let parts: Vec<String> = (0..PARTS).map(|part| format!("rod-{part}")).collect();
    for part in &parts {
        server.stocked(electrode(part, "2.4 mm"), 100).await;
    }
    for (torch, fitted) in parts.chunks(IN_EACH).enumerate() {
        let fitted: Vec<&str> = fitted.iter().map(String::as_str).collect();
        server.torch(&format!("T{torch}"), &fitted).await;
    }
    server.quayhead("rod-0").await;
    server.set_clock(NOW);
    for torch in 0..TORCHES {
        let batch = NewUsageBatch {
            entries: (0..WEEKS).map(|week| worked(torch, week)).collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = server.owner.record_usage_batch(&batch).await;
        let told = told.expect("a batch");
        assert_eq!((told.refused, told.kept_aside), (0, 0), "{}", told.says);
    }
    server
}

/// A week of a torch: six arc hours, and one of its parts taken in turn.
fn worked(torch: usize, week: i32) -> NewUsage {
    let turn = usize::try_from(week).unwrap_or(0) % IN_EACH;
    NewUsage {
        id: Some(format!("torch-{torch}-week-{week}")),
        torch: Some(format!("T{torch}")),
        part: Some(format!("rod-{}", torch * IN_EACH + turn)),
        what: Some("took".to_owned()),
        at: Some((instant(NOW) - TimeDelta::days(7) * (week + 1)).fixed_offset()),
        arc_minutes: Some(360),
        ..NewUsage::default()
    }
}
