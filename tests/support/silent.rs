//! A shop with a gas lens of which no use is on record for long, though its torch ran. All of it is invented.

use chrono::TimeDelta;
use types::{NewDrawer, NewUsage, NewUsageBatch};

use crate::builders::{assuming, gas_lens};
use crate::{TestServer, instant};

/// The part.
pub const LENS: &str = "gas-lens-2.4";
const NOW: &str = "2026-06-15T08:00:00-03:00";

/// A day of work with T1, so many days ago.
fn day(ago: i64, minutes: i64, took: bool) -> NewUsage {
    let at = instant("2026-06-15T12:00:00-03:00") - TimeDelta::days(ago);
    NewUsage {
        id: Some(format!("day-{ago}")),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(minutes),
        what: took.then(|| "took".to_owned()),
        part: took.then(|| LENS.to_owned()),
        at: Some(at.fixed_offset()),
        ..NewUsage::default()
    }
}

impl TestServer {
    /// A lens of which ten were used in 100 hours, on Gamma(1, 10), the last one 41 days ago; and then so many
    /// minutes of work on each of the days since, none of them with use.
    pub async fn silent_shop(minutes: i64) -> Self {
        let server = Self::at("2026-01-05T08:00:00-04:00").await;
        server.zone("America/Halifax").await;
        let part = assuming(gas_lens(LENS), "arc-hour", 1.0, 10.0);
        server.stocked(part, 30).await;
        server.torch("T1", &[LENS]).await;
        let drawer = NewDrawer {
            code: "9".to_owned(),
            name: None,
            site: None,
            parts: vec![LENS.to_owned()],
        };
        server.owner.create_drawer(&drawer).await.expect("a drawer");
        server.set_clock(NOW);
        let before = (0..10).map(|at| day(41 + 7 * at, 600, true));
        let since = (1..41).map(|ago| day(ago, minutes, false));
        let batch = NewUsageBatch {
            entries: before.chain(since).collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = server.owner.record_usage_batch(&batch).await;
        let told = told.expect("a batch");
        assert_eq!((told.refused, told.kept_aside), (0, 0), "{told:?}");
        server
    }
}
