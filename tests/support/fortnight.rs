//! A shop that somebody comes back to after two weeks of shifts: what was told meanwhile, what arrived, what
//! is late and what is short. All names and figures are invented.

use types::{
    NewCount, NewJob, NewOffer, NewOrder, NewOrderLine, NewPart, NewSupplier, NewUsage, Order,
};

use crate::shop::taken;
use crate::{TestServer, builders, instant};

/// When it was last looked at.
pub const LEFT: &str = "2026-06-01T08:00:00-03:00";
/// When somebody comes back.
pub const BACK: &str = "2026-06-15T08:00:00-03:00";

/// The electrode.
pub const ELECTRODE: &str = "WLa20-2.4";
/// The collet.
pub const COLLET: &str = "collet-2.4";
/// The gas lens, which nobody offers.
pub const LENS: &str = "lens-2.4";

/// An hour of the shop's day, 10:00 in summer.
fn morning(day: &str) -> String {
    format!("{day}T10:00:00-03:00")
}

impl TestServer {
    /// Sets up a supplier in CAD that takes so many open days and sells packs of 10 of these parts.
    pub async fn sells(&self, code: &str, lead_time_days: i64, parts: &[&str]) {
        let seller = NewSupplier {
            code: code.to_owned(),
            currency: "CAD".to_owned(),
            lead_time_days,
            cut_off: Some("12:00".to_owned()),
            ..NewSupplier::default()
        };
        self.owner.create_supplier(&seller).await.expect("one");
        for part in parts {
            let offer = NewOffer {
                supplier: code.to_owned(),
                part: (*part).to_owned(),
                pack_size: 10,
                price_minor: 4_200,
                ..NewOffer::default()
            };
            self.owner.create_offer(&offer).await.expect("an offer");
        }
    }

    /// Orders packs of 10 of a part and places the order.
    pub async fn placed(&self, supplier: &str, part: &str, packs: i64) -> Order {
        let new = NewOrder {
            course: None,
            supplier: supplier.to_owned(),
            lines: vec![NewOrderLine {
                part: part.to_owned(),
                pack_size: 10,
                packs,
            }],
            ..NewOrder::default()
        };
        let now = self.clock.now().timestamp();
        let key = format!("order-{supplier}-{part}-{now}");
        let order = self.owner.create_order(&new, &key).await.expect("an order");
        let placed = self.owner.place_order(order.number).await;
        placed.expect("it is placed")
    }

    /// Receives all that is to come of an order.
    pub async fn arrived(&self, number: i64) {
        let key = format!("arrival-{number}");
        let all = types::NewArrival::default();
        let arrived = self.owner.receive_order(number, &all, &key).await;
        arrived.expect("it is received");
    }

    /// Logs arc time on T1 and so many pieces of a part taken with it, as of now.
    pub async fn worked(&self, arc_minutes: i64, part: &str, pieces: i64) {
        let now = self.clock.now().timestamp();
        let arc = NewUsage {
            torch: Some("T1".to_owned()),
            arc_minutes: Some(arc_minutes),
            ..NewUsage::default()
        };
        let key = format!("arc-{now}");
        self.owner.record_usage(&arc, &key).await.expect("arc time");
        if pieces > 0 {
            let took = NewUsage {
                torch: Some("T1".to_owned()),
                qty: Some(pieces),
                ..taken(part)
            };
            let key = format!("took-{part}-{now}");
            self.owner.record_usage(&took, &key).await.expect("use");
        }
    }

    /// Counts a part as of now.
    pub async fn counted(&self, part: &str, counted: i64) {
        let count = NewCount {
            part: part.to_owned(),
            counted,
            ..NewCount::default()
        };
        let key = format!("count-{part}-{}", self.clock.now().timestamp());
        self.owner.record_count(&count, &key).await.expect("one");
    }

    /// Sets up a job on T1 of so many arc hours.
    pub async fn job(&self, code: &str, start: &str, arc_hours: i64) {
        let job = NewJob {
            code: code.to_owned(),
            torch: Some("T1".to_owned()),
            arc_minutes: Some(arc_hours * 60),
            start: start.parse().expect("a day"),
            ..NewJob::default()
        };
        self.owner.create_job(&job).await.expect("a job");
    }

    /// Moves the clock to 10:00 of a summer's day in Halifax.
    pub fn on(&self, day: &str) {
        self.clock.set(instant(&morning(day)));
    }
}

/// The shop at [`BACK`].
///
/// Until [`LEFT`] six arc hours a week for four weeks, an electrode each. Since then: eight electrodes taken
/// on 2 June, which leaves two; ten collets ordered of Quayhead that came on 3 June; ten electrodes ordered
/// of Millrace on 2 June, due on 9 June and not here; an order cancelled; a count of collets that found one
/// too few; the last gas lens broken on 8 June. R-1 starts on 26 June.
pub async fn fortnight() -> TestServer {
    let server = TestServer::at("2026-05-04T10:00:00-03:00").await;
    server.zone("America/Halifax").await;
    let assumed = |part: NewPart| builders::assuming(part, "arc-hour", 6.0, 43.0);
    let electrode = assumed(builders::electrode(ELECTRODE, "2.4 mm"));
    server.stocked(electrode, 14).await;
    let collet = builders::assuming(builders::collet(COLLET), "arc-hour", 0.5, 50.0);
    server.stocked(collet, 4).await;
    let lens = builders::assuming(builders::gas_lens(LENS), "arc-hour", 0.5, 100.0);
    server.stocked(lens, 1).await;
    server.torch("T1", &[ELECTRODE, COLLET, LENS]).await;
    server.sells("Quayhead", 1, &[ELECTRODE, COLLET]).await;
    server.sells("Millrace", 5, &[ELECTRODE]).await;
    for day in ["2026-05-05", "2026-05-12", "2026-05-19", "2026-05-26"] {
        server.on(day);
        server.worked(360, ELECTRODE, 1).await;
    }
    server.on("2026-06-02");
    server.worked(600, ELECTRODE, 8).await;
    server.placed("Millrace", ELECTRODE, 1).await;
    let collets = server.placed("Quayhead", COLLET, 1).await;
    server.on("2026-06-03");
    let wrong = server.placed("Quayhead", ELECTRODE, 3).await;
    let cancelled = server.owner.cancel_order(wrong.number).await;
    cancelled.expect("it is cancelled");
    server.arrived(collets.number).await;
    server.on("2026-06-05");
    server.counted(COLLET, 13).await;
    server.on("2026-06-08");
    let broke = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("broke".to_owned()),
        part: Some(LENS.to_owned()),
        ..NewUsage::default()
    };
    server.owner.record_usage(&broke, "lens").await.expect("it");
    server.job("R-1", "2026-06-26", 34).await;
    server.clock.set(instant(BACK));
    server
}
