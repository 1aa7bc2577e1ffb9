//! Logged use: what it answers, what it does to stock, the cautions that come with it, and batches,
//! of which every entry is judged alone.

use tigstock_tests::builders::{collet, electrode};
use tigstock_tests::shop::taken;
use tigstock_tests::{TestServer, instant};
use types::{
    ListMovements, ListUsage, NewPart, NewReceipt, NewReversal, NewUsage, NewUsageBatch,
    ProblemKind, Recorded, UsageBatch,
};

/// The words of each caution that a test looks for.
const THORIUM: &str = "slightly radioactive";
const GRINDING: &str = "Eye protection";
const HOT: &str = "Let the torch cool";
const UNKNOWN: &str = "treat as possibly thoriated";
const CLOSING: &str = "ask a qualified person";

fn of_class(code: &str, class: &str) -> NewPart {
    NewPart {
        class: Some(class.to_owned()),
        ..electrode(code, "2.4 mm")
    }
}

fn cup() -> NewPart {
    NewPart {
        code: "cup-7".to_owned(),
        kind: "cup".to_owned(),
        cup_number: Some(7),
        seat: Some("standard".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

/// T1 has a lanthanated electrode, T2 a thoriated one.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 8).await;
    server.stocked(of_class("WTh20-2.4", "WTh20"), 7).await;
    server.stocked(of_class("stubs", "unidentified"), 4).await;
    server.stocked(collet("collet-2.4"), 2).await;
    server.stocked(cup(), 5).await;
    server
        .torch("T1", &["WLa20-2.4", "collet-2.4", "cup-7"])
        .await;
    server.torch("T2", &["WTh20-2.4", "cup-7"]).await;
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

fn on(torch: &str) -> NewUsage {
    NewUsage {
        torch: Some(torch.to_owned()),
        ..NewUsage::default()
    }
}

fn done(torch: &str, what: &str, part: &str) -> NewUsage {
    NewUsage {
        what: Some(what.to_owned()),
        part: Some(part.to_owned()),
        ..on(torch)
    }
}

async fn log(server: &TestServer, usage: &NewUsage) -> Recorded {
    let key = uuid::Uuid::now_v7().to_string();
    let recorded = server.owner.record_usage(usage, &key).await;
    recorded.expect("it is recorded")
}

#[tokio::test(flavor = "multi_thread")]
async fn one_line_answers_with_what_is_left() {
    let server = shop().await;
    let session = NewUsage {
        arc_minutes: Some(75),
        grinds: Some(3),
        ..on("T1")
    };
    let told = log(&server, &session).await;
    assert_eq!(told.says, "T1: 75 min, 3 grinds. WLa20-2.4: 8 left.");
    let told = log(&server, &done("T1", "took", "electrode")).await;
    assert_eq!(told.says, "T1: took 1 WLa20-2.4. WLa20-2.4: 7 left.");
}

#[tokio::test(flavor = "multi_thread")]
async fn each_word_moves_the_stock_as_it_should() {
    let server = shop().await;
    for (what, on_hand) in [("took", 4), ("broke", 3), ("lost", 2), ("put-back", 3)] {
        log(&server, &done("T1", what, "cup-7")).await;
        assert_eq!(server.on_hand("cup-7").await, on_hand, "{what}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn grinding_and_keeping_a_stub_take_nothing_from_the_drawer_and_are_of_an_electrode() {
    let server = shop().await;
    let before = server.on_hand("WLa20-2.4").await;
    for what in ["ground", "stub"] {
        log(&server, &done("T1", what, "WLa20-2.4")).await;
        assert_eq!(server.on_hand("WLa20-2.4").await, before, "{what}");
        let cup = server
            .owner
            .record_usage(&done("T1", what, "cup-7"), what)
            .await;
        let problem = cup.expect_err("a cup is none");
        let problem = problem.problem().expect("a problem");
        assert!(problem.detail.contains("only an electrode"), "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_is_named_by_its_code_or_by_its_kind_in_the_torch() {
    let server = shop().await;
    let usage = NewUsage {
        part: None,
        ..done("T1", "took", "")
    };
    assert_eq!(log(&server, &usage).await.stock[0].part, "WLa20-2.4");
    let told = log(&server, &done("T1", "broke", "cup")).await;
    assert_eq!((&*told.stock[0].part, told.stock[0].on_hand), ("cup-7", 4));
    let told = log(&server, &done("T2", "took", "wla20-2.4")).await;
    assert_eq!(told.stock[0].part, "WLa20-2.4");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_book_below_nothing_is_recorded_and_told_as_impossible() {
    let server = shop().await;
    let three = NewUsage {
        qty: Some(3),
        ..taken("collet-2.4")
    };
    let told = log(&server, &three).await;
    assert_eq!(told.stock[0].on_hand, -1);
    assert!(told.says.contains("impossible"), "{}", told.says);
    assert!(told.says.contains("count it"), "{}", told.says);
    let stock = server.stock("collet-2.4").await;
    assert_eq!((stock.on_hand, stock.available), (-1, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_offset_that_an_entry_was_made_with_is_kept() {
    let server = shop().await;
    let usage = NewUsage {
        at: Some("2026-06-15T05:30:00-05:30".parse().unwrap()),
        ..done("T1", "took", "cup")
    };
    log(&server, &usage).await;
    let list = ListUsage::default();
    let page = server.owner.list_usage(&list).await.unwrap();
    assert_eq!(page.usage[0].at.to_rfc3339(), "2026-06-15T05:30:00-05:30");
    let received = instant("2026-06-15T08:01:00-03:00");
    assert_eq!(page.usage[0].received_at, received);
}

#[tokio::test(flavor = "multi_thread")]
async fn use_without_a_torch_is_listed_too_and_so_is_taking_it_back() {
    let server = shop().await;
    let entry = log(&server, &taken("collet-2.4")).await.entry;
    let receipt = NewReceipt {
        part: "collet-2.4".to_owned(),
        quantity: 5,
        ..NewReceipt::default()
    };
    let owner = &server.owner;
    let receipt = owner.record_receipt(&receipt, "parcel").await.unwrap();
    for (entry, key) in [(receipt.entry, "back-1"), (entry, "back-2")] {
        let back = NewReversal { entry, why: None };
        owner.record_reversal(&back, key).await.unwrap();
    }
    let page = owner.list_usage(&ListUsage::default()).await.unwrap();
    let listed: Vec<_> = page.usage.iter().map(|row| row.reverses).collect();
    assert_eq!(listed, [Some(entry), None]);
    assert_eq!(page.usage[1].entry, entry);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_ledger_tells_who_what_and_where() {
    let server = shop().await;
    let usage = NewUsage {
        by: Some("helper".to_owned()),
        group: Some("helper".to_owned()),
        lot: Some("L-2231".to_owned()),
        ..done("T1", "broke", "cup")
    };
    let receipt = NewReceipt {
        part: "cup-7".to_owned(),
        quantity: 5,
        lot: Some("L-2231".to_owned()),
        ..NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "lot").await.unwrap();
    let entry = log(&server, &usage).await.entry;
    let every = ListMovements::default();
    let rows = server.owner.list_movements(&every);
    let row = rows.await.unwrap().movements.remove(0);
    assert_eq!(row.entry, entry);
    assert_eq!(
        (&*row.kind, row.quantity, &*row.part),
        ("issue", 1, "cup-7")
    );
    assert_eq!((&*row.group, row.why.as_deref()), ("helper", Some("broke")));
    assert_eq!(row.torch.as_deref(), Some("T1"));
    assert_eq!(row.lot.as_deref(), Some("L-2231"));
    assert_eq!(row.by.as_deref(), Some("helper"));
}

/// Whether exactly these cautions came, and the closing sentence after them.
fn assert_cautions(told: &Recorded, expected: &[&str]) {
    let found = &told.cautions;
    let closing = usize::from(!expected.is_empty());
    assert_eq!(found.len(), expected.len() + closing, "{found:?}");
    for words in expected {
        assert!(found.iter().any(|text| text.contains(words)), "{found:?}");
    }
    if let Some(last) = found.last() {
        assert!(last.contains(CLOSING), "{found:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn thorium_and_grinding_and_hot_parts_come_with_their_cautions() {
    let server = shop().await;
    let ground = |torch: &str| NewUsage {
        what: Some("ground".to_owned()),
        ..on(torch)
    };
    for (usage, expected) in [
        (ground("T1"), &[GRINDING][..]),
        (ground("T2"), &[GRINDING, THORIUM]),
        (done("T2", "took", "electrode"), &[THORIUM]),
        (taken("stubs"), &[UNKNOWN]),
        (done("T1", "broke", "cup"), &[HOT]),
        (done("T1", "took", "cup"), &[]),
        (done("T1", "took", "electrode"), &[]),
    ] {
        assert_cautions(&log(&server, &usage).await, expected);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn grinding_a_thoriated_electrode_is_cautioned_whatever_else_was_done() {
    let server = shop().await;
    let both = NewUsage {
        grinds: Some(2),
        ..done("T2", "broke", "cup")
    };
    assert_cautions(&log(&server, &both).await, &[GRINDING, THORIUM, HOT]);
}

#[tokio::test(flavor = "multi_thread")]
async fn thoriated_goods_that_come_in_are_recorded_with_the_caution() {
    let server = shop().await;
    let receipt = NewReceipt {
        part: "WTh20-2.4".to_owned(),
        quantity: 10,
        ..NewReceipt::default()
    };
    let told = server.owner.record_receipt(&receipt, "parcel").await;
    let told = told.unwrap();
    assert_cautions(&told, &[THORIUM]);
    assert_eq!(told.says, "Received 10 WTh20-2.4. WTh20-2.4: 17 left.");
}

fn entry(id: &str, usage: NewUsage) -> NewUsage {
    NewUsage {
        id: Some(id.to_owned()),
        ..usage
    }
}

async fn send(server: &TestServer, entries: Vec<NewUsage>) -> UsageBatch {
    let batch = NewUsageBatch {
        entries,
        history: false,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    told.expect("a batch")
}

fn results(told: &UsageBatch) -> Vec<(&str, &str)> {
    let rows = told.entries.iter();
    rows.map(|row| (&*row.id, &*row.result)).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn every_entry_of_a_batch_is_judged_alone() {
    let server = shop().await;
    let told = send(
        &server,
        vec![
            entry("a", done("T1", "took", "cup")),
            entry("b", done("T9", "took", "cup")),
            entry("c", done("T1", "ate", "cup")),
            entry("d", done("T1", "took", "nothing")),
            entry("e", done("T1", "broke", "cup")),
            taken("cup-7"),
        ],
    )
    .await;
    assert_eq!(told.says, "6 entries: 2 in, 0 already in, 4 need you.");
    assert_eq!((told.recorded, told.already_in, told.refused), (2, 0, 4));
    assert_eq!(
        results(&told),
        [
            ("a", "recorded"),
            ("b", "refused"),
            ("c", "refused"),
            ("d", "refused"),
            ("e", "recorded"),
            ("", "refused"),
        ]
    );
    let pointers: Vec<Option<&str>> = told
        .entries
        .iter()
        .map(|row| Some(&*row.problem.as_ref()?.violations[0].pointer))
        .collect();
    let expected = [
        None,
        Some("/torch"),
        Some("/what"),
        Some("/part"),
        None,
        Some("/id"),
    ];
    assert_eq!(pointers, expected);
    assert_eq!(server.on_hand("cup-7").await, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_batch_sent_again_in_reverse_is_already_in() {
    let server = shop().await;
    let mut entries: Vec<NewUsage> = (0..6)
        .map(|number| entry(&format!("row-{number}"), taken("WLa20-2.4")))
        .collect();
    let first = send(&server, entries.clone()).await;
    assert_eq!(first.says, "6 entries: 6 in, 0 already in, 0 need you.");
    entries.reverse();
    let second = send(&server, entries).await;
    assert_eq!(second.says, "6 entries: 0 in, 6 already in, 0 need you.");
    assert!(second.entries.iter().all(|row| row.result == "already in"));
    let mut again: Vec<_> = second.entries.into_iter().map(|row| row.recorded).collect();
    again.reverse();
    let before: Vec<_> = first.entries.into_iter().map(|row| row.recorded).collect();
    assert_eq!(before, again);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_id_twice_in_a_batch_is_one_entry_or_a_refusal() {
    let server = shop().await;
    let two = NewUsage {
        qty: Some(2),
        ..taken("cup-7")
    };
    let told = send(
        &server,
        vec![
            entry("a", taken("cup-7")),
            entry("a", taken("cup-7")),
            entry("a", two),
        ],
    )
    .await;
    assert_eq!(told.says, "3 entries: 1 in, 1 already in, 1 need you.");
    let problem = told.entries[2].problem.as_ref().expect("it is refused");
    assert_eq!(problem.slug(), ProblemKind::KeyReused.slug());
    assert_eq!(server.on_hand("cup-7").await, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_id_in_a_batch_follows_the_rules_of_the_header() {
    let server = shop().await;
    let ids = ["", "a b", "caf\u{e9}"];
    let entries = ids.map(|id| entry(id, taken("cup-7")));
    let told = send(&server, entries.to_vec()).await;
    assert_eq!(told.refused, 3, "{told:?}");
    for row in &told.entries {
        let problem = row.problem.as_ref().expect("it is refused");
        assert_eq!(problem.violations[0].pointer, "/id", "{problem:?}");
    }
    assert_eq!(server.on_hand("cup-7").await, 5);
}
