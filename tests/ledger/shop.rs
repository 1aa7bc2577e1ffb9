//! A shop below the API: its own database, its own writer, a clock that stands. The shop is set up
//! once, and each test works on a copy of the file.

use std::collections::BTreeMap;
use std::future::poll_fn;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::task::Poll;

use proptest::test_runner::{Config, TestCaseError};
use server::service::keys::Caller;
use server::service::known::{self, View};
use server::service::{
    self, Clock, Context, Error, ledger::Answer, rebuild::Rebuilt, rebuild::rebuild,
};
use server::store::{
    self, Store,
    entity::{levels, wear},
};
use tigstock_tests::database::Scratch;
use tigstock_tests::{builders, instant};
use tokio::runtime::Runtime;
use tokio::sync::{OnceCell, oneshot};
use tokio::task::{JoinHandle, unconstrained};
use types::{NewJob, NewOffer, NewPart, NewSetUp, NewSite, NewSupplier, SetUpJob};
use uuid::Uuid;

/// The parts of the shop.
pub(crate) const PARTS: [&str; 4] = ["WLa20-2.4", "WLa20-1.6", "collet-2.4", "gas-lens-2.4"];
/// The sites: the one that is there from the start, and another.
pub(crate) const SITES: [&str; 2] = ["shop", "yard"];
/// The torches: T1 is fitted anew in the middle of the time that is told of, T2 stands in the yard,
/// T3 was never fitted.
pub(crate) const TORCHES: [&str; 3] = ["T1", "T2", "T3"];
/// The lots that come in, as they are written on the packet.
pub(crate) const LOTS: [&str; 2] = ["L-11", "L-12"];
/// The jobs; the second is done by a locked procedure.
pub(crate) const JOBS: [&str; 2] = ["J-1", "J-2"];
/// Which of the jobs is locked.
pub(crate) const LOCKED: usize = 1;
/// The only supplier; it sells each part in packs of 1 and of 5.
pub(crate) const SUPPLIER: &str = "quayhead";
/// Slots of time that entries are told of.
pub(crate) const SLOTS: i64 = 8;
/// From this slot on, T1 has its second set-up. What happened before its first belongs to the first.
pub(crate) const REFITTED: i64 = 5;

/// Everyone's hour: the clock stands past all that is told.
pub(crate) const NOW: &str = "2026-06-15T12:00:00Z";

/// The slot of what is dated when it is received: the minutes from the first slot to [`NOW`].
pub(crate) const TOLD_NOW: i64 = 240;

/// When a slot begins.
pub(crate) fn at(slot: i64) -> chrono::DateTime<chrono::FixedOffset> {
    let start = instant("2026-06-15T08:00:00Z");
    (start + chrono::TimeDelta::minutes(slot)).fixed_offset()
}

/// The caller of everything here.
pub(crate) const CALLER: Caller = Caller::DEMO;

/// A shop.
#[derive(Debug)]
pub(crate) struct Shop {
    /// What use cases work with.
    pub(crate) context: Context,
    scratch: Arc<Scratch>,
}

/// What is kept of a part at a site.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Figures {
    pub(crate) on_hand: i64,
    pub(crate) on_hold: i64,
    pub(crate) allocated: i64,
    pub(crate) on_order: i64,
    /// When it was counted, in microseconds.
    pub(crate) counted: Option<i64>,
}

impl From<&levels::Model> for Figures {
    fn from(row: &levels::Model) -> Self {
        Self {
            on_hand: row.on_hand,
            on_hold: row.on_hold,
            allocated: row.allocated,
            on_order: row.on_order,
            counted: row.counted_at,
        }
    }
}

/// What is kept of stock, by part and site.
pub(crate) type Levels = BTreeMap<(String, String), Figures>;
/// Part, site and operator group.
pub(crate) type Whose = (String, String, String);
/// Events, arc seconds, grinds, cut-backs, starts, and since when.
pub(crate) type Sums = ([i64; 5], Option<i64>);
/// What is kept of wear.
pub(crate) type Wear = BTreeMap<Whose, Sums>;

impl Shop {
    /// A shop that is set up and has told nothing yet.
    pub(crate) async fn open() -> Self {
        static TEMPLATE: OnceCell<Arc<Scratch>> = OnceCell::const_new();
        let template = TEMPLATE.get_or_init(set_up).await;
        let copy = Scratch::copy_of(template.location()).await;
        Self::start(Arc::new(copy)).await
    }

    async fn start(scratch: Arc<Scratch>) -> Self {
        let store = Store::open(scratch.location()).await.expect("a database");
        let context = Context::start(store, Clock::standing_at(instant(NOW)));
        Self { context, scratch }
    }

    /// The database file.
    pub(crate) fn file(&self) -> &Path {
        self.scratch.location().file().expect("a file")
    }

    /// What another process would find if this one were gone now: the files as they are on disk,
    /// in a folder of their own.
    pub(crate) async fn as_left_behind(&self) -> Self {
        let copy = Scratch::copy_of(self.scratch.location()).await;
        let to = copy.location().file().expect("a file");
        std::fs::copy(beside(self.file()), beside(to)).expect("a copy of the log");
        Self::start(Arc::new(copy)).await
    }

    /// The levels that are kept; a row of nothing is as good as none.
    pub(crate) async fn levels(&self) -> Levels {
        let (db, names) = (self.context.store.read(), self.names().await);
        let rows = store::levels::all(db).await.expect("levels");
        rows.into_iter()
            .map(|row| {
                let key = (names.part(row.part_id), names.site(row.site_id));
                (key, Figures::from(&row))
            })
            .filter(|(_, figures)| *figures != Figures::default())
            .collect()
    }

    /// The sums of wear that are kept.
    pub(crate) async fn wear(&self) -> Wear {
        let (db, names) = (self.context.store.read(), self.names().await);
        let rows = store::wear::all(db).await.expect("sums of wear");
        rows.iter().map(|row| names.worn(row)).collect()
    }

    /// The levels of a view, in the same words.
    pub(crate) async fn levels_in(&self, view: View) -> Levels {
        let (db, names) = (self.context.store.read(), self.names().await);
        let parts: Vec<i64> = names.parts.keys().copied().collect();
        let mut levels = Levels::new();
        for site in names.sites.keys() {
            let books = known::levels(db, view, (*site, &parts)).await;
            for (part, book) in books.expect("levels") {
                let row = service::ledger::book::row(&book, (part, *site));
                let figures = Figures::from(&row);
                if figures != Figures::default() {
                    levels.insert((names.part(part), names.site(*site)), figures);
                }
            }
        }
        levels
    }

    /// The sums of wear of a view, in the same words.
    pub(crate) async fn wear_in(&self, view: View) -> Wear {
        let (db, names) = (self.context.store.read(), self.names().await);
        let parts: Vec<i64> = names.parts.keys().copied().collect();
        let mut wear = Wear::new();
        for site in names.sites.keys() {
            let rows = known::wear(db, view, (*site, &parts)).await;
            wear.extend(
                rows.expect("sums of wear")
                    .iter()
                    .map(|row| names.worn(row)),
            );
        }
        wear
    }

    /// Rebuilds everything from the ledger.
    pub(crate) async fn rebuild(&self) -> Rebuilt {
        rebuild(&self.context).await.expect("a rebuild")
    }

    /// Holds the writer until the sender is used or dropped: what is sent meanwhile makes one group.
    pub(crate) async fn hold_writer(&self) -> oneshot::Sender<()> {
        let (open, opened) = oneshot::channel::<()>();
        let (begun, holds) = oneshot::channel::<()>();
        let writer = self.context.writer.clone();
        tokio::spawn(async move {
            let held = writer.write(move |_| {
                Box::pin(async move {
                    let _ = begun.send(());
                    let _ = opened.await;
                    Ok(())
                })
            });
            held.await.expect("nothing was written");
        });
        holds.await.expect("the writer is held");
        open
    }

    async fn names(&self) -> Names {
        let db = self.context.store.read();
        let parts = store::parts::list(db, None, 100).await.expect("parts");
        let sites = store::sites::list(db, None, 100).await.expect("sites");
        Names {
            parts: parts.into_iter().map(|row| (row.id, row.code)).collect(),
            sites: sites.into_iter().map(|row| (row.id, row.code)).collect(),
        }
    }
}

/// Begins a write and leaves it where it waits, at a writer that is held; it goes on by itself.
pub(crate) async fn begun<T: Send + 'static>(
    write: impl Future<Output = T> + Send + 'static,
) -> JoinHandle<T> {
    let mut write = Box::pin(unconstrained(write));
    poll_fn(|context| {
        assert!(
            write.as_mut().poll(context).is_pending(),
            "the writer is not held"
        );
        Poll::Ready(())
    })
    .await;
    tokio::spawn(write)
}

struct Names {
    parts: BTreeMap<i64, String>,
    sites: BTreeMap<i64, String>,
}

impl Names {
    fn worn(&self, row: &wear::Model) -> (Whose, Sums) {
        let sums = [
            row.events,
            row.arc_seconds,
            row.grinds,
            row.cut_backs,
            row.starts,
        ];
        let key = (
            self.part(row.part_id),
            self.site(row.site_id),
            row.operator_group.clone(),
        );
        (key, (sums, row.first_at))
    }

    fn part(&self, id: i64) -> String {
        self.parts[&id].clone()
    }

    fn site(&self, id: i64) -> String {
        self.sites[&id].clone()
    }
}

fn beside(file: &Path) -> PathBuf {
    file.with_extension("db-wal")
}

async fn set_up() -> Arc<Scratch> {
    let scratch = Arc::new(Scratch::new().await);
    let shop = Shop::start(Arc::clone(&scratch)).await;
    let context = &shop.context;
    furnish(context).await.expect("a shop that is set up");
    let store = context.store.clone();
    drop(shop);
    store.close().await.expect("a database that is closed");
    scratch
}

async fn furnish(context: &Context) -> Result<(), Error> {
    let yard = NewSite {
        code: SITES[1].to_owned(),
        name: None,
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    service::sites::create(context, yard).await?;
    let supplier = NewSupplier {
        code: SUPPLIER.to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 900,
        lead_time_days: 5,
        cut_off: None,
        ..NewSupplier::default()
    };
    service::suppliers::create(context, supplier).await?;
    for (index, code) in PARTS.into_iter().enumerate() {
        service::parts::create(context, part(index, code)).await?;
        for pack_size in [1, 5] {
            let offer = NewOffer {
                supplier: SUPPLIER.to_owned(),
                part: code.to_owned(),
                pack_size,
                price_minor: 500 * pack_size,
                ..NewOffer::default()
            };
            service::offers::create(context, offer).await?;
        }
    }
    for (index, code) in TORCHES.into_iter().enumerate() {
        let mut torch = builders::torch(code);
        torch.site = Some(SITES[usize::from(index == 1)].to_owned());
        service::torches::create(context, torch).await?;
    }
    for (torch, slot, version, parts) in [
        ("T1", 2, 1, [PARTS[0], PARTS[2]]),
        ("T1", REFITTED, 2, [PARTS[1], PARTS[3]]),
        ("T2", 2, 1, [PARTS[0], PARTS[3]]),
    ] {
        context.clock.set(at(slot).to_utc());
        let parts = parts.map(str::to_owned).to_vec();
        let fitted = NewSetUp { parts };
        service::torches::replace_set_up(context, torch, version, fitted).await?;
    }
    for (index, code) in JOBS.into_iter().enumerate() {
        service::jobs::create(context, job(code, index == LOCKED), &SetUpJob::default()).await?;
    }
    Ok(())
}

fn job(code: &str, locked: bool) -> NewJob {
    NewJob {
        code: code.to_owned(),
        torch: Some(TORCHES[0].to_owned()),
        arc_minutes: Some(60),
        start: "2026-06-20".parse().expect("a day"),
        procedure: locked.then(|| "PROC-07 rev 2".to_owned()),
        locked,
        ..NewJob::default()
    }
}

fn part(index: usize, code: &str) -> NewPart {
    match index {
        0 => builders::electrode(code, "2.4 mm"),
        1 => builders::electrode(code, "1.6 mm"),
        2 => builders::collet(code),
        _ => builders::gas_lens(code),
    }
}

/// Whether a part of [`PARTS`] is an electrode.
pub(crate) fn electrode(part: usize) -> bool {
    part < 2
}

/// What T1, T2 or T3 has fitted in a slot, as indices of [`PARTS`], told apart from the service.
pub(crate) fn fitted(torch: usize, slot: i64) -> &'static [usize] {
    match torch {
        0 if slot < REFITTED => &[0, 2],
        0 => &[1, 3],
        1 => &[0, 3],
        _ => &[],
    }
}

/// The entry that an answer names.
pub(crate) fn entry(answer: &Answer) -> Uuid {
    let body: serde_json::Value = serde_json::from_str(&answer.body).expect("an answer in JSON");
    let entry = body["entry"].as_str().expect("an entry");
    entry.parse().expect("an id")
}

/// Runs the body of a property.
pub(crate) fn run(
    body: impl Future<Output = Result<(), TestCaseError>>,
) -> Result<(), TestCaseError> {
    static RUNTIME: std::sync::OnceLock<Runtime> = std::sync::OnceLock::new();
    RUNTIME
        .get_or_init(|| Runtime::new().expect("a runtime"))
        .block_on(body)
}

/// So many cases; a database each is slow, and on a server so slow that a tenth must do: what differs there is
/// the database, and not what the cases tell.
pub(crate) fn cases(cases: u32) -> Config {
    let share = if tigstock_tests::database::server().is_some() {
        10
    } else {
        1
    };
    Config {
        cases: cases.div_ceil(share),
        max_shrink_iters: 200,
        failure_persistence: None,
        ..Config::default()
    }
}
