//! The stub jar: what goes in and out, and that it is never counted among the full rods.

use client::Error;
use domain::safety::{CLOSING, Hazard};
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{
    GetForecasts, ListStubs, MovedStubs, NewReceipt, NewReversal, NewStub, NewUsage, ProblemKind,
    Recorded, StubGroup, StubPage,
};

use crate::site_rules::both;

const PART: &str = "WLa20-2.4";

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), 10).await;
    let lot = NewReceipt {
        part: PART.to_owned(),
        quantity: 10,
        lot: Some("L-2231".to_owned()),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&lot, "lot")
        .await
        .expect("a lot");
    server.torch("T1", &[PART]).await;
    server.set_clock("2026-06-15T09:00:00-03:00");
    server
}

fn stub(length: Option<&str>) -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("stub".to_owned()),
        length: length.map(str::to_owned),
        ..NewUsage::default()
    }
}

async fn log(server: &TestServer, usage: &NewUsage) -> Recorded {
    let key = uuid::Uuid::now_v7().to_string();
    server
        .owner
        .record_usage(usage, &key)
        .await
        .expect("it is done")
}

async fn jar(server: &TestServer) -> Vec<StubGroup> {
    let page = server.owner.list_stubs(&ListStubs::default()).await;
    page.expect("it is done").stubs
}

async fn record(server: &TestServer, stubs: &NewStub) -> Result<Recorded, Error> {
    let key = uuid::Uuid::now_v7().to_string();
    server.owner.record_stubs(stubs, &key).await
}

fn of(class: &str, length: Option<&str>, quantity: i64) -> NewStub {
    NewStub {
        class: class.to_owned(),
        diameter: "3/32 in".to_owned(),
        length: length.map(str::to_owned),
        quantity: Some(quantity),
        ..NewStub::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_old_electrode_of_a_torch_keeps_its_class_diameter_and_lot() {
    let server = shop().await;
    let taken = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        lot: Some("L-2231".to_owned()),
        ..NewUsage::default()
    };
    log(&server, &taken).await;
    let told = log(&server, &stub(Some("48 mm"))).await;
    assert_eq!(
        told.says,
        "T1: 1 stub of WLa20 2.4 mm, 48 mm, lot L-2231, into the jar. 1 of them in the jar."
    );
    let [group] = &jar(&server).await[..] else {
        panic!("one group")
    };
    let got = (&*group.class, &*group.diameter, group.length.as_deref());
    assert_eq!(got, ("WLa20", "2.4 mm", Some("48 mm")));
    assert_eq!(group.lot.as_deref(), Some("L-2231"));
    assert_eq!((group.quantity, group.available), (1, 1));
    assert!(group.usable_under_a_fixed_procedure);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_electrode_taken_without_a_lot_leaves_a_stub_without_one() {
    let server = shop().await;
    let with_lot = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        lot: Some("L-2231".to_owned()),
        ..NewUsage::default()
    };
    log(&server, &with_lot).await;
    server.set_clock("2026-06-15T10:00:00-03:00");
    let without = NewUsage {
        lot: None,
        ..with_lot
    };
    let newer = log(&server, &without).await;
    log(&server, &stub(Some("48 mm"))).await;
    let there = jar(&server).await;
    assert_eq!(there[0].lot, None);
    assert!(!there[0].usable_under_a_fixed_procedure);
    // Had that one never been taken, the older lot would be the one that is fitted.
    let undo = NewReversal {
        entry: newer.entry,
        why: None,
    };
    server.owner.record_reversal(&undo, "undo").await.unwrap();
    log(&server, &stub(Some("48 mm"))).await;
    let lots: Vec<_> = jar(&server)
        .await
        .into_iter()
        .map(|group| group.lot)
        .collect();
    assert_eq!(lots, [None, Some("L-2231".to_owned())]);
}

/// The order point and the stock of the full rods.
async fn full_rods(server: &TestServer) -> (Option<i64>, i64, i64) {
    let query = GetForecasts {
        part: Some(PART.to_owned()),
        arc: Some("34h".to_owned()),
        pace: Some("6h".to_owned()),
        cover_days: Some(14),
        ..GetForecasts::default()
    };
    let told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("it is done");
    let forecast = &told.forecasts[0];
    (
        forecast.order_point,
        forecast.available,
        server.on_hand(PART).await,
    )
}

#[tokio::test(flavor = "multi_thread")]
async fn stubs_change_neither_the_order_point_nor_the_stock_of_full_rods() {
    let server = shop().await;
    let before = full_rods(&server).await;
    assert!(before.0.is_some());
    for _ in 0..5 {
        log(&server, &stub(Some("48 mm"))).await;
    }
    record(&server, &of("WLa20", Some("45 mm"), 40))
        .await
        .unwrap();
    assert_eq!(full_rods(&server).await, before);
    assert_eq!(jar(&server).await.len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn six_unidentified_stubs_are_held_at_the_school() {
    let server = both().await;
    let six = NewStub {
        site: Some("tarnbridge".to_owned()),
        by: Some("instructor".to_owned()),
        ..of("unidentified", None, 6)
    };
    let told = record(&server, &six).await.unwrap();
    assert_eq!(
        told.says,
        "6 stubs of unidentified 2.4 mm, into the jar. 6 of them in the jar. Held: of unknown class, \
         not permitted at Tarnbridge."
    );
    assert_eq!(
        told.cautions,
        ["Class unknown: treat as possibly thoriated.", CLOSING]
    );
    let query = ListStubs {
        site: Some("tarnbridge".to_owned()),
        ..ListStubs::default()
    };
    let page: StubPage = server.owner.list_stubs(&query).await.unwrap();
    let group = &page.stubs[0];
    assert_eq!((group.quantity, group.available), (6, 0));
    assert_eq!(
        group.held_because.as_deref(),
        Some("of unknown class, not permitted at Tarnbridge")
    );
    assert!(!group.usable_under_a_fixed_procedure);
    assert_eq!(page.cautions[0], Hazard::Unidentified.text());
    // At home, where nothing is barred, they could be used, and the caution still stands.
    let home = record(&server, &of("unidentified", None, 1)).await.unwrap();
    assert!(!home.says.contains("Held"), "{}", home.says);
    assert_eq!(home.cautions[0], Hazard::Unidentified.text());
}

#[tokio::test(flavor = "multi_thread")]
async fn no_more_stubs_come_out_than_the_jar_has() {
    let server = shop().await;
    record(&server, &of("WLa20", Some("48 mm"), 3))
        .await
        .unwrap();
    let take = |quantity| NewStub {
        what: Some("take".to_owned()),
        ..of("WLa20", None, quantity)
    };
    let told = record(&server, &take(2)).await.unwrap();
    assert_eq!(
        told.says,
        "2 stubs of WLa20 2.4 mm, 48 mm, taken from the jar. 1 of them in the jar."
    );
    let error = record(&server, &take(2)).await.unwrap_err();
    assert!(error.is(ProblemKind::Invalid));
    let problem = error.problem().expect("a problem");
    assert!(problem.detail.contains("1 in the jar"), "{problem:?}");
    let scrap = NewStub {
        what: Some("scrap".to_owned()),
        ..take(1)
    };
    record(&server, &scrap).await.unwrap();
    assert_eq!(jar(&server).await, []);
}

#[tokio::test(flavor = "multi_thread")]
async fn stubs_that_could_be_several_are_asked_about() {
    let server = shop().await;
    for length in ["48 mm", "46 mm"] {
        record(&server, &of("WLa20", Some(length), 1))
            .await
            .unwrap();
    }
    let take = NewStub {
        what: Some("take".to_owned()),
        ..of("WLa20", None, 1)
    };
    let error = record(&server, &take).await.unwrap_err();
    let problem = error.problem().expect("a problem");
    for word in ["48 mm", "46 mm", "give length or lot"] {
        assert!(problem.detail.contains(word), "{problem:?}");
    }
    let which = NewStub {
        length: Some("46 mm".to_owned()),
        ..take
    };
    record(&server, &which).await.unwrap();
    assert_eq!(jar(&server).await.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_of_the_jar_can_be_taken_back_unless_the_stub_is_gone() {
    let server = shop().await;
    let first = log(&server, &stub(Some("48 mm"))).await;
    let second = log(&server, &stub(Some("48 mm"))).await;
    let undo = |entry| NewReversal { entry, why: None };
    let told = server.owner.record_reversal(&undo(first.entry), "a").await;
    assert_eq!(told.unwrap().says, "Taken back: stub.");
    assert_eq!(jar(&server).await[0].quantity, 1);
    let take = NewStub {
        what: Some("take".to_owned()),
        ..of("WLa20", None, 1)
    };
    let taken = record(&server, &take).await.unwrap();
    let error = server.owner.record_reversal(&undo(second.entry), "b").await;
    assert!(error.unwrap_err().is(ProblemKind::WrongState));
    server
        .owner
        .record_reversal(&undo(taken.entry), "c")
        .await
        .unwrap();
    assert_eq!(jar(&server).await[0].quantity, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_jar_is_read_page_by_page_and_by_class() {
    let server = shop().await;
    for (class, length) in [("WLa20", "48 mm"), ("WCe20", "48 mm"), ("WLa20", "110 mm")] {
        record(&server, &of(class, Some(length), 1)).await.unwrap();
    }
    let mut query = ListStubs {
        limit: Some(2),
        ..ListStubs::default()
    };
    let mut seen = Vec::new();
    loop {
        let page = server.owner.list_stubs(&query).await.unwrap();
        let groups = page.stubs.into_iter();
        seen.extend(groups.map(|group| (group.class, group.length.unwrap_or_default())));
        let Some(next) = page.next else { break };
        query.after = Some(next);
    }
    let seen: Vec<(&str, &str)> = seen.iter().map(|(a, b)| (&**a, &**b)).collect();
    assert_eq!(
        seen,
        [("WCe20", "48 mm"), ("WLa20", "48 mm"), ("WLa20", "110 mm")]
    );
    let query = ListStubs {
        class: Some("EWCe-2".to_owned()),
        ..ListStubs::default()
    };
    assert_eq!(
        server.owner.list_stubs(&query).await.unwrap().stubs.len(),
        1
    );
    let query = ListStubs {
        diameter: Some("2.5".to_owned()),
        ..ListStubs::default()
    };
    assert_eq!(
        server.owner.list_stubs(&query).await.unwrap().stubs.len(),
        0
    );
    let query = ListStubs {
        class: Some("red".to_owned()),
        ..ListStubs::default()
    };
    let error = server.owner.list_stubs(&query).await.unwrap_err();
    let problem = error.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "?class");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stub_that_nobody_measured_keeps_its_length_open() {
    let server = shop().await;
    let told = log(&server, &stub(None)).await;
    assert_eq!(
        told.says,
        "T1: 1 stub of WLa20 2.4 mm, into the jar. 1 of them in the jar."
    );
    assert_eq!(jar(&server).await[0].length, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_is_one_in_the_jar_however_it_is_written() {
    let server = shop().await;
    for lot in ["L-2231", "l-2231"] {
        let stubs = NewStub {
            lot: Some(lot.to_owned()),
            ..of("WLa20", Some("48 mm"), 2)
        };
        record(&server, &stubs).await.expect("into the jar");
    }
    let there = jar(&server).await;
    let lots: Vec<_> = there
        .iter()
        .map(|group| (group.lot.as_deref(), group.quantity))
        .collect();
    assert_eq!(lots, [(Some("L-2231"), 4)]);
    // Three come out together, which no one way of writing it has.
    let take = NewStub {
        what: Some("take".to_owned()),
        lot: Some("l-2231".to_owned()),
        ..of("WLa20", None, 3)
    };
    let told = record(&server, &take).await.expect("out of the jar");
    assert!(told.says.contains("1 of them in the jar"), "{}", told.says);
    let left: i64 = jar(&server).await.iter().map(|group| group.quantity).sum();
    assert_eq!(left, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_shows_the_stubs_that_it_moved_and_what_was_ground() {
    let server = shop().await;
    let stubs = NewStub {
        lot: Some("L-2231".to_owned()),
        ..of("WLa20", Some("48 mm"), 2)
    };
    let told = record(&server, &stubs).await.expect("into the jar");
    let shown = |quantity| MovedStubs {
        class: "WLa20".to_owned(),
        diameter: "2.4 mm".to_owned(),
        length: Some("48 mm".to_owned()),
        lot: Some("L-2231".to_owned()),
        quantity,
    };
    let entry = server.owner.get_entry(told.entry).await.expect("the entry");
    assert_eq!((&*entry.kind, entry.stubs), ("stubs", vec![shown(2)]));
    let undo = NewReversal {
        entry: told.entry,
        why: None,
    };
    let back = server.owner.record_reversal(&undo, "undo").await;
    let back = back.expect("it is taken back").entry;
    let entry = server.owner.get_entry(back).await.expect("the entry");
    assert_eq!(entry.stubs, [shown(-2)]);
    // A grind of an electrode that the torch does not have says which it was.
    server.part(electrode("WLa20-3.2", "3.2 mm")).await;
    for (part, ground) in [(PART, None), ("WLa20-3.2", Some("WLa20-3.2"))] {
        let grind = NewUsage {
            torch: Some("T1".to_owned()),
            what: Some("ground".to_owned()),
            part: Some(part.to_owned()),
            ..NewUsage::default()
        };
        let told = log(&server, &grind).await;
        let entry = server.owner.get_entry(told.entry).await.expect("the entry");
        assert_eq!(entry.ground.as_deref(), ground);
        assert!(entry.stubs.is_empty());
    }
}
