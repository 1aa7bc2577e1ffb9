//! A look at 200 watched parts against forecasts of the same parts, one by one as callers ask for them, in the
//! same run. For each part a look finds its order point, the chance of being short and what there is to say; it
//! writes only what has changed. Invented: 200 electrodes, each in a torch of its own, with a year of work.

use std::time::Instant;

use chrono::TimeDelta;
use server::service::{Error, ahead, looks};
use tigstock_tests::builders::electrode;
use tigstock_tests::{TestServer, instant};
use tokio::runtime::Runtime;
use types::{GetForecastsAhead, NewLook, NewUsage, NewUsageBatch};

use crate::compare;
use crate::load::rate;

/// The parts, and as many torches.
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
    for part in 0..PARTS {
        let rod = format!("rod-{part}");
        server.stocked(electrode(&rod, "2.4 mm"), 100).await;
        server.torch(&format!("T{part}"), &[&rod]).await;
    }
    server.quayhead("rod-0").await;
    server.set_clock(NOW);
    for part in 0..PARTS {
        let batch = NewUsageBatch {
            entries: (0..WEEKS).map(|week| worked(part, week)).collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = server.owner.record_usage_batch(&batch).await;
        let told = told.expect("a batch");
        assert_eq!((told.refused, told.kept_aside), (0, 0), "{}", told.says);
    }
    server
}

/// A week of a torch: six arc hours, and every fourth an electrode.
fn worked(part: u32, week: i32) -> NewUsage {
    let took = week % 4 == 0;
    NewUsage {
        id: Some(format!("torch-{part}-week-{week}")),
        torch: Some(format!("T{part}")),
        part: took.then(|| format!("rod-{part}")),
        what: took.then(|| "took".to_owned()),
        at: Some((instant(NOW) - TimeDelta::days(7) * (week + 1)).fixed_offset()),
        arc_minutes: Some(360),
        ..NewUsage::default()
    }
}
