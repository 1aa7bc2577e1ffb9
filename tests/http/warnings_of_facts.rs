//! Warnings about facts: barred material that came in or was used, a lot on hold with pieces out. They are
//! told at once and once, are never silenced, and end when somebody says that they were seen.

use tigstock_tests::TestServer;
use types::{
    ListWarnings, NewAcknowledgement, NewAnswer, NewLotHold, NewQuiet, NewReceipt, NewReversal,
    NewSite, NewUsage, Recorded, SiteQuietHours, Warning,
};

use crate::site_rules::{both, school};

const THORIATED: &str = "WTh20-2.4";

async fn ground(server: &TestServer, key: &str) -> Recorded {
    let usage = NewUsage {
        torch: Some("station-3".to_owned()),
        part: Some(THORIATED.to_owned()),
        what: Some("ground".to_owned()),
        grinds: Some(1),
        by: Some("helper".to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&usage, key)
        .await
        .expect("it is recorded")
}

async fn standing(server: &TestServer) -> Vec<Warning> {
    let page = server.owner.list_warnings(&ListWarnings::default()).await;
    page.expect("warnings").warnings
}

#[tokio::test(flavor = "multi_thread")]
async fn barred_use_is_told_once_at_once_and_ends_when_it_was_seen() {
    let server = both().await;
    // Neither quiet hours nor a weekly limit of nothing hold it back.
    let site = server
        .owner
        .get_site("tarnbridge")
        .await
        .expect("the school");
    let version = site.version;
    let silent = NewSite {
        quiet_hours: Some(SiteQuietHours {
            from: "00:00".to_owned(),
            to: "23:59".to_owned(),
            weekdays: Vec::new(),
        }),
        weekly_limit: Some(0),
        ..school()
    };
    server
        .owner
        .replace_site("tarnbridge", &silent, version)
        .await
        .expect("a site");
    ground(&server, "first").await;
    ground(&server, "second").await;
    let look = server.looks().await;
    assert_eq!(look.told.len(), 1, "{look:?}");
    let warning = &look.told[0];
    assert_eq!(
        (warning.kind.as_str(), warning.subject.as_str()),
        ("barred-used", THORIATED)
    );
    for words in [
        "not permitted at Tarnbridge",
        "helper",
        "instructor",
        "slightly radioactive",
    ] {
        assert!(warning.says.contains(words), "no {words}: {}", warning.says);
    }
    ground(&server, "third").await;
    assert!(server.looks().await.told.is_empty());
    let quiet = NewQuiet {
        until: "tomorrow".to_owned(),
        on_hand: None,
    };
    let error = server
        .owner
        .quiet_warning(warning.id, &quiet)
        .await
        .expect_err("never silent");
    assert!(error.to_string().contains("acknowledge"), "{error}");
    let seen = NewAcknowledgement {
        by: Some("instructor".to_owned()),
    };
    server
        .owner
        .acknowledge_warning(warning.id, &seen)
        .await
        .expect("seen");
    assert!(standing(&server).await.is_empty());
    // What is used after that is told anew.
    ground(&server, "fourth").await;
    assert_eq!(server.looks().await.told.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_to_the_question_ends_the_warning_as_well() {
    let server = both().await;
    let told = ground(&server, "first").await;
    server.looks().await;
    assert_eq!(standing(&server).await.len(), 1);
    let seen = NewAnswer {
        answer: "seen".to_owned(),
        by: Some("instructor".to_owned()),
        ..NewAnswer::default()
    };
    server
        .owner
        .answer_question(told.questions[0], &seen, "seen")
        .await
        .expect("answered");
    assert!(standing(&server).await.is_empty());
    // What is taken back before anybody looked was never told.
    let told = ground(&server, "again").await;
    let back = NewReversal {
        entry: told.entry,
        why: None,
    };
    server
        .owner
        .record_reversal(&back, "back")
        .await
        .expect("taken back");
    assert!(server.looks().await.told.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_barred_receipt_is_told_once() {
    let server = both().await;
    for number in 0..3 {
        let receipt = NewReceipt {
            part: THORIATED.to_owned(),
            quantity: 10,
            site: Some("tarnbridge".to_owned()),
            ..NewReceipt::default()
        };
        let key = format!("parcel-{number}");
        server
            .owner
            .record_receipt(&receipt, &key)
            .await
            .expect("it is recorded");
    }
    let look = server.looks().await;
    assert_eq!(look.told.len(), 1, "{look:?}");
    assert_eq!(look.told[0].kind, "barred-received");
    assert!(
        look.told[0]
            .says
            .contains("on hold: not permitted at Tarnbridge")
    );
    // At home nothing bars it.
    let receipt = NewReceipt {
        part: THORIATED.to_owned(),
        quantity: 10,
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "home")
        .await
        .expect("it is recorded");
    assert!(server.looks().await.told.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_on_hold_with_pieces_out_is_told() {
    let server = both().await;
    let receipt = NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity: 10,
        lot: Some("L-2231".to_owned()),
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "lot")
        .await
        .expect("it is recorded");
    let hold = NewLotHold::default();
    let held = server
        .owner
        .hold_lot("L-2231", &hold, "hold")
        .await
        .expect("held");
    assert_eq!(held.pieces, 10);
    // None is out.
    assert!(server.looks().await.told.is_empty());
    let release = NewLotHold::default();
    server
        .owner
        .release_lot("L-2231", &release, "free")
        .await
        .expect("free");
    let take = NewUsage {
        part: Some("WLa20-2.4".to_owned()),
        what: Some("took".to_owned()),
        qty: Some(4),
        lot: Some("L-2231".to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&take, "take")
        .await
        .expect("it is recorded");
    server
        .owner
        .hold_lot("L-2231", &hold, "hold-again")
        .await
        .expect("held");
    let look = server.looks().await;
    let lots: Vec<&Warning> = look
        .told
        .iter()
        .filter(|it| it.kind == "lot-on-hold")
        .collect();
    assert_eq!(lots.len(), 1, "{look:?}");
    assert!(
        lots[0].says.contains("4 used or handed out"),
        "{}",
        lots[0].says
    );
}
