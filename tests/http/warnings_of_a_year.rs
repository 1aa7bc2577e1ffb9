//! A simulated year of a shop whose owner follows most warnings and ignores some: how many messages come, and
//! whether a warning came before each stock-out early enough to order. Chance is a small generator with a fixed
//! seed; rates, packs and habits are invented.

use std::collections::BTreeMap;
use std::io::Write;

use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, TimeDelta};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, collet, electrode, gas_lens};
use types::{
    NewArrival, NewLook, NewOffer, NewOrder, NewOrderLine, NewPart, NewSupplier, NewUsage,
    NewUsageBatch, Warning,
};

/// Days of the year, from a Monday on.
const DAYS: u64 = 364;
/// Arc hours of a weekday.
const HOURS: f64 = 2.0;
/// Days after a warning at which an order of the next morning is there: five open days, and a weekend.
const IN_TIME: u64 = 8;
/// Messages a week that a shop gets at the most, unless it says otherwise.
const BUDGET: usize = 5;

/// A part as it is in truth.
struct Part {
    code: &'static str,
    /// Pieces an arc hour.
    rate: f64,
    pack: i64,
    on_hand: i64,
    /// What is on order: the day it comes, and the number of the order.
    due: Option<(u64, i64)>,
    /// The day on which the warning that is open was told.
    told_on: Option<u64>,
    /// Whether this one is ignored.
    ignored: bool,
}

/// Numbers from 0 to 1 (`SplitMix64`, G. Steele, D. Lea, C. Flood, 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let high = u32::try_from((z ^ (z >> 31)) >> 32).expect("the upper half");
        f64::from(high) / f64::from(u32::MAX)
    }
}

/// A year under way.
struct Year {
    server: TestServer,
    parts: Vec<Part>,
    chance: Chance,
    warnings: usize,
    /// Messages by week.
    messages: BTreeMap<u64, usize>,
    /// Each stock-out: whether its warning came in time.
    outs: Vec<bool>,
}

fn large(code: &str, kind: &str, length: Option<&str>) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        length: length.map(str::to_owned),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

fn first() -> NaiveDate {
    "2026-01-05".parse().expect("a Monday")
}

fn at(day: u64, hour: u32) -> DateTime<FixedOffset> {
    let date = first() + Days::new(day);
    let at = date.and_hms_opt(hour, 0, 0).expect("an hour").and_utc();
    at.fixed_offset()
}

impl Year {
    async fn begin() -> Self {
        let server = TestServer::at("2026-01-05T06:00:00+00:00").await;
        let supplier = NewSupplier {
            code: "quayhead".to_owned(),
            currency: "CAD".to_owned(),
            lead_time_days: 5,
            ..NewSupplier::default()
        };
        server
            .owner
            .create_supplier(&supplier)
            .await
            .expect("a supplier");
        let kinds = [
            (electrode("WLa20-2.4", "2.4 mm"), 0.14, 10, 12),
            (collet("collet-2.4"), 0.05, 5, 5),
            (gas_lens("gas-lens-2.4"), 0.03, 3, 4),
            (large("o-ring-large", "o-ring", None), 0.03, 5, 4),
            (large("back-cap-long", "back-cap", Some("long")), 0.02, 3, 3),
        ];
        let mut parts = Vec::new();
        for ((part, rate, pack, counted), code) in kinds.into_iter().zip(CODES) {
            // Known as if from 200 arc hours.
            server
                .stocked(assuming(part, "arc-hour", 200.0 * rate, 200.0), counted)
                .await;
            let offer = NewOffer {
                supplier: "quayhead".to_owned(),
                part: code.to_owned(),
                pack_size: pack,
                price_minor: 1_000,
                ..NewOffer::default()
            };
            server.owner.create_offer(&offer).await.expect("an offer");
            parts.push(Part {
                code,
                rate,
                pack,
                on_hand: counted,
                due: None,
                told_on: None,
                ignored: false,
            });
        }
        server.torch("T1", &CODES).await;
        let worked = (1..=84_i64).filter_map(|ago| {
            let then = at(0, 12) - TimeDelta::days(ago);
            let is_open = then.weekday().num_days_from_monday() < 5;
            is_open.then(|| work(&format!("before-{ago}"), then))
        });
        let history = NewUsageBatch {
            entries: worked.collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = server
            .owner
            .record_usage_batch(&history)
            .await
            .expect("a batch");
        assert_eq!(told.refused + told.kept_aside, 0, "{}", told.says);
        Self {
            server,
            parts,
            chance: Chance(2_026),
            warnings: 0,
            messages: BTreeMap::new(),
            outs: Vec::new(),
        }
    }

    /// What is due comes in, and what was told is ordered.
    async fn morning(&mut self, day: u64) {
        self.server.set_clock(&at(day, 9).to_rfc3339());
        for part in &mut self.parts {
            if let Some((_, order)) = part.due.take_if(|(due, _)| *due <= day) {
                let came = NewArrival::default();
                let key = format!("parcel-{order}");
                let came = self.server.owner.receive_order(order, &came, &key).await;
                came.expect("a parcel");
                part.on_hand += part.pack;
            }
            let is_told = part.told_on.is_some() && !part.ignored;
            if day % 7 < 5 && is_told && part.due.is_none() {
                let order = order(&self.server, part).await;
                part.due = Some((day + 7, order));
            }
        }
    }

    /// The work of a weekday; a part that is needed and not there is a stock-out.
    async fn work(&mut self, day: u64) {
        let then = at(day, 16);
        self.server.set_clock(&then.to_rfc3339());
        let mut entries = vec![work(&format!("work-{day}"), then)];
        for part in &mut self.parts {
            if self.chance.next() >= part.rate * HOURS {
                continue;
            }
            if part.on_hand == 0 {
                let told = part.told_on.map(|told| day - told);
                self.outs.push(told.is_some_and(|ago| ago >= IN_TIME));
                // Now it is ordered, whatever was told.
                part.ignored = false;
                part.told_on = part.told_on.or(Some(day));
                continue;
            }
            part.on_hand -= 1;
            entries.push(NewUsage {
                id: Some(format!("took-{day}-{}", part.code)),
                torch: Some("T1".to_owned()),
                what: Some("took".to_owned()),
                part: Some(part.code.to_owned()),
                at: Some(then),
                ..NewUsage::default()
            });
        }
        let batch = NewUsageBatch {
            entries,
            ..NewUsageBatch::default()
        };
        let told = self
            .server
            .owner
            .record_usage_batch(&batch)
            .await
            .expect("a batch");
        assert_eq!(told.refused + told.kept_aside, 0, "{}", told.says);
    }

    async fn evening(&mut self, day: u64) {
        self.server.set_clock(&at(day, 18).to_rfc3339());
        let look = self.server.owner.look_at_stock(&NewLook::default()).await;
        let look = look.expect("a look");
        *self.messages.entry(day / 7).or_default() += look.told.len() + look.escalated.len();
        for warning in &look.told {
            self.warnings += 1;
            // Every third is ignored.
            let is_ignored = self.warnings.is_multiple_of(3);
            if let Some(part) = self.part(warning) {
                part.told_on = Some(day);
                part.ignored = is_ignored;
            }
        }
        for warning in &look.closed {
            if let Some(part) = self.part(warning) {
                part.told_on = None;
            }
        }
    }

    fn part(&mut self, warning: &Warning) -> Option<&mut Part> {
        let code = warning.part.as_deref()?;
        self.parts.iter_mut().find(|part| part.code == code)
    }
}

const CODES: [&str; 5] = [
    "WLa20-2.4",
    "collet-2.4",
    "gas-lens-2.4",
    "o-ring-large",
    "back-cap-long",
];

fn work(id: &str, then: DateTime<FixedOffset>) -> NewUsage {
    NewUsage {
        id: Some(id.to_owned()),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(120),
        at: Some(then),
        ..NewUsage::default()
    }
}

async fn order(server: &TestServer, part: &Part) -> i64 {
    let new = NewOrder {
        supplier: "quayhead".to_owned(),
        lines: vec![NewOrderLine {
            part: part.code.to_owned(),
            pack_size: part.pack,
            packs: 1,
        }],
        ..NewOrder::default()
    };
    let key = uuid::Uuid::now_v7().to_string();
    let order = server
        .owner
        .create_order(&new, &key)
        .await
        .expect("a draft");
    let placed = server.owner.place_order(order.number).await;
    placed.expect("placed").number
}

#[tokio::test(flavor = "multi_thread")]
async fn a_year_of_warnings_keeps_to_its_budget_and_comes_before_stock_runs_out() {
    let mut year = Year::begin().await;
    for day in 0..DAYS {
        year.morning(day).await;
        if day % 7 < 5 {
            year.work(day).await;
        }
        year.evening(day).await;
    }
    let most = year.messages.values().max().copied().unwrap_or(0);
    let all: usize = year.messages.values().sum();
    let (outs, early) = (
        year.outs.len(),
        year.outs.iter().filter(|early| **early).count(),
    );
    let told = format!(
        "a year: {} warnings, {all} messages, at most {most} a week; {outs} stock-outs, {early} of them with a \
         warning early enough to order",
        year.warnings
    );
    writeln!(std::io::stderr(), "{told}").expect("written");
    assert!(most <= BUDGET, "{:?}", year.messages);
    // About 140 pieces were used, so warnings there were; and some were ignored until the drawer was empty.
    assert!((10..=60).contains(&year.warnings), "{}", year.warnings);
    assert!(outs >= 3, "{outs}");
    assert_eq!(early, outs, "a stock-out came without a warning in time");
}
