//! Scenario X3, and the counting half of S3: a kit is complete or what is missing is named, and under
//! a short back cap only rods of 50 mm or less count.

use tigstock_tests::TestServer;
use tigstock_tests::front_ends::STANDARD;
use types::{KitCheck, KitLine, NewKit, NewMovement, NewSite, NewStub, NewUsage, ProblemKind};

use crate::site_rules::{of_class, school};

const PART: &str = "WLa20-2.4";

async fn kit(server: &TestServer, code: &str, parts: &[&str]) {
    let line = |part: &&str| KitLine {
        part: (*part).to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let kit = NewKit {
        code: code.to_owned(),
        name: None,
        parts: parts.iter().map(line).collect(),
    };
    server.owner.create_kit(&kit).await.expect("it is done");
}

/// The standard set-up, its electrode first, with the short back cap.
fn short_cap(electrode: &'static str) -> [&'static str; 7] {
    let mut parts = STANDARD.map(|part| match part {
        "cap-long" => "cap-short",
        PART => electrode,
        other => other,
    });
    parts.swap(0, 2);
    parts
}

/// The same with the long back cap.
fn long_cap() -> [&'static str; 7] {
    let mut parts = STANDARD;
    parts.swap(0, 2);
    parts
}

/// A shop whose collets still grip 35 mm, with 150 mm rods, a torch, and kits with the short and the
/// long back cap.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server
        .shelve(&[
            (PART, 10),
            ("collet-2.4", 4),
            ("cap-short", 5),
            ("cap-long", 2),
            ("o-ring-large", 3),
            ("body-2.4", 9),
            ("insulator-std", 9),
            ("cup-7", 9),
        ])
        .await;
    server.torch("T1", &[PART, "collet-2.4"]).await;
    kit(&server, "K-short", &short_cap(PART)).await;
    kit(&server, "K-long", &long_cap()).await;
    let site = server.owner.get_site("shop").await.expect("it is done");
    let new = NewSite {
        discard_length: Some("35 mm".to_owned()),
        ..site.clone().into_new()
    };
    let site = server.owner.replace_site("shop", &new, site.version).await;
    assert_eq!(
        site.expect("it is done").discard_length,
        Some("35 mm".to_owned())
    );
    server.set_clock("2026-06-15T09:00:00-03:00");
    server
}

async fn check(server: &TestServer, kit: &str) -> KitCheck {
    server.owner.check_kit("T1", kit).await.expect("it is done")
}

async fn stubs(server: &TestServer, length: &str, count: usize) {
    for _ in 0..count {
        let stub = NewUsage {
            torch: Some("T1".to_owned()),
            what: Some("stub".to_owned()),
            length: Some(length.to_owned()),
            ..NewUsage::default()
        };
        let key = uuid::Uuid::now_v7().to_string();
        server
            .owner
            .record_usage(&stub, &key)
            .await
            .expect("it is done");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_short_cap_kit_is_complete_from_stubs_alone() {
    let server = shop().await;
    for length in ["46 mm", "48 mm", "50 mm"] {
        stubs(&server, length, 1).await;
    }
    // Too long for the cap, and too short for the collet.
    stubs(&server, "51 mm", 1).await;
    stubs(&server, "34 mm", 1).await;
    let told = check(&server, "K-short").await;
    assert_eq!((&*told.state, told.count), ("complete", 3));
    assert_eq!(told.lines[0].stubs, Some(3));
    assert_eq!(told.lines[0].available, 3);
    assert_eq!(
        told.says,
        [
            "Complete: 3 kits. Limited by: Electrode WLa20 2.4 mm, 150 mm long.",
            "3 stubs fit; use them before cutting a new one."
        ]
    );
    // The seats are as they usually are; the discard length is the shop's own.
    assert_eq!(told.assumes.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn full_rods_do_not_go_under_the_short_cap_and_the_cut_is_told() {
    let server = shop().await;
    let told = check(&server, "K-short").await;
    assert_eq!((&*told.state, told.count), ("incomplete", 0));
    assert_eq!(told.limited_by.as_deref(), Some(PART));
    assert_eq!(
        (told.lines[0].available, told.lines[0].missing),
        (0, 1),
        "{told:?}"
    );
    assert_eq!(
        told.says,
        [
            "Incomplete: 1 part missing. Electrode WLa20 2.4 mm, 150 mm long.",
            "No stub of 35 mm to 50 mm is in the jar, and a full rod does not go under the short back cap.",
            "Next: cut 1 rod of WLa20-2.4 to 50 mm or less; 10 available."
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn under_the_long_cap_full_rods_count_and_stubs_do_not() {
    let server = shop().await;
    stubs(&server, "48 mm", 3).await;
    let told = check(&server, "K-long").await;
    // Ten rods, four collets, two caps, three O-rings.
    assert_eq!((&*told.state, told.count), ("complete", 2));
    assert_eq!(told.limited_by.as_deref(), Some("cap-long"));
    assert_eq!(
        (told.lines[0].available, told.lines[0].stubs),
        (10, None),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_one_missing_part_is_named() {
    let server = shop().await;
    let gone = NewMovement {
        part: "o-ring-large".to_owned(),
        kind: "scrap".to_owned(),
        quantity: 3,
        ..NewMovement::default()
    };
    server.owner.record_movement(&gone, "gone").await.unwrap();
    let told = check(&server, "K-long").await;
    assert_eq!((&*told.state, told.count), ("incomplete", 0));
    assert_eq!(told.limited_by.as_deref(), Some("o-ring-large"));
    assert_eq!(
        told.says[0],
        "Incomplete: 1 part missing. O-ring, back cap, large body."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn held_pieces_complete_no_kit() {
    let server = shop().await;
    let hold = NewMovement {
        part: "collet-2.4".to_owned(),
        kind: "hold".to_owned(),
        quantity: 4,
        ..NewMovement::default()
    };
    server.owner.record_movement(&hold, "hold").await.unwrap();
    let told = check(&server, "K-long").await;
    assert_eq!(&*told.state, "incomplete");
    assert!(told.says[0].contains("Collet 2.4 mm"), "{:?}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_with_a_barred_part_is_not_permitted_however_many_are_there() {
    let server = shop().await;
    server.stocked(of_class("WTh20-2.4", "WTh20"), 9).await;
    kit(&server, "K-th", &short_cap("WTh20-2.4")).await;
    let stub = NewStub {
        class: "WTh20".to_owned(),
        diameter: "2.4 mm".to_owned(),
        length: Some("48 mm".to_owned()),
        ..NewStub::default()
    };
    server.owner.record_stubs(&stub, "stub").await.unwrap();
    assert_eq!(check(&server, "K-th").await.state, "complete");
    let site = server.owner.get_site("shop").await.unwrap();
    let barred = NewSite {
        barred: school().barred,
        ..site.clone().into_new()
    };
    let barred = server.owner.replace_site("shop", &barred, site.version);
    barred.await.unwrap();
    let told = check(&server, "K-th").await;
    assert_eq!((&*told.state, told.count), ("not permitted", 0));
    assert_eq!(told.lines[0].stubs, Some(0));
    assert_eq!(
        told.says[1],
        "WTh20-2.4 is not permitted at Shop. Next: use a permitted class, or do the work at a site \
         that permits it."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_site_without_a_discard_length_is_told_what_was_assumed() {
    let server = shop().await;
    let site = server.owner.get_site("shop").await.unwrap();
    let new = NewSite {
        discard_length: None,
        ..site.clone().into_new()
    };
    let site = server.owner.replace_site("shop", &new, site.version).await;
    site.unwrap();
    stubs(&server, "38 mm", 1).await;
    stubs(&server, "42 mm", 1).await;
    let told = check(&server, "K-short").await;
    // Common practice in the large body family is about 40 mm.
    assert_eq!(told.lines[0].stubs, Some(1));
    assert_eq!(told.assumes.len(), 2);
    assert!(
        told.assumes[1].starts_with("Starting assumption:") && told.assumes[1].contains("40 mm"),
        "{:?}",
        told.assumes
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stub_that_nobody_measured_is_not_counted_and_the_next_step_is_told() {
    let server = shop().await;
    let stub = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("stub".to_owned()),
        qty: Some(2),
        ..NewUsage::default()
    };
    server.owner.record_usage(&stub, "two").await.unwrap();
    let told = check(&server, "K-short").await;
    assert_eq!(told.lines[0].stubs, Some(0));
    assert_eq!(
        told.says[3],
        "2 more stubs in the jar not measured. Next: measure, and add with the length."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_or_a_kit_that_is_not_there_is_told() {
    let server = shop().await;
    for (torch, kit) in [("T9", "K-short"), ("T1", "K-9")] {
        let error = server.owner.check_kit(torch, kit).await.unwrap_err();
        assert!(error.is(ProblemKind::NotFound), "{error:?}");
    }
}
