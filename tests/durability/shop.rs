//! A shop with everything in it that can be recorded, for a round trip: three years of history, late
//! entries, reversals, orders in every state, two sites, and text that breaks careless programs.

use sea_orm::{ConnectionTrait, DbBackend, Statement};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, collet};
use tigstock_tests::demo;
use types::{
    ArrivedLine, KitLine, ListStock, NewArrival, NewCount, NewKit, NewMovement, NewOrder,
    NewOrderLine, NewReceipt, NewReversal, NewSite, NewUsage,
};

/// Text that breaks careless programs.
pub(crate) const NASTY: &str = "=1+1, \"two\" 🔥 -x @y +z 'q' ; \\ ,,";
/// The same with what the API takes from nobody, but a file might hold.
pub(crate) const WORSE: &str = "\"=1+1\",\r\nthree\n\nfour\rfive\t\0🔥\r\n";
/// An entry that is told again after the round trip.
pub(crate) const REPEATED: &str = "told-twice";

/// The server.
pub(crate) async fn rich() -> TestServer {
    let server = demo::furnished().await;
    let owner = &server.owner;
    let yard = NewSite {
        code: "yard".to_owned(),
        name: Some("-Yard, \"back\"".to_owned()),
        zone: "America/Halifax".to_owned(),
        barred: vec!["thoriated".to_owned(), "WP".to_owned()],
        responsible: Some("=instructor".to_owned()),
        discard_length: Some("35 mm".to_owned()),
        ..NewSite::default()
    };
    owner.create_site(&yard).await.expect("a site");
    let mut own = assuming(collet("own-collet"), "arc-hour", 0.1 + 0.2, 1.1e-6);
    own.note = Some(NASTY.to_owned());
    owner.create_part(&own).await.expect("a part");
    let kit = NewKit {
        code: "course".to_owned(),
        name: Some("@course".to_owned()),
        parts: vec![KitLine {
            part: "own-collet".to_owned(),
            quantity: 3,
            ..KitLine::default()
        }],
    };
    owner.create_kit(&kit).await.expect("a kit");
    entries(&server).await;
    orders(&server).await;
    let tx = server.context.store.begin().await.expect("a transaction");
    let worse = Statement::from_sql_and_values(
        DbBackend::Sqlite,
        "UPDATE kits SET name = ? WHERE code = 'course'",
        [WORSE.into()],
    );
    tx.execute_raw(worse).await.expect("it is written");
    let empty = "UPDATE suppliers SET note = ''";
    tx.execute_unprepared(empty).await.expect("it is written");
    tx.commit().await.expect("it is kept");
    server
}

/// The entry that is told twice.
pub(crate) fn repeated() -> NewUsage {
    NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("broke".to_owned()),
        part: Some("collet-2.4".to_owned()),
        note: Some(NASTY.to_owned()),
        by: Some("+someone".to_owned()),
        ..NewUsage::default()
    }
}

async fn entries(server: &TestServer) {
    let owner = &server.owner;
    owner
        .record_usage(&repeated(), REPEATED)
        .await
        .expect("use");
    let lot = NewReceipt {
        part: "own-collet".to_owned(),
        quantity: 6,
        site: Some("yard".to_owned()),
        lot: Some("L-7".to_owned()),
        ..NewReceipt::default()
    };
    owner.record_receipt(&lot, "lot").await.expect("a lot");
    for (number, (kind, quantity, site)) in [
        ("issue", 4, "yard"),
        ("hold", 2, "yard"),
        ("release", 1, "yard"),
        ("adjustment", -3, "shop"),
        ("scrap", 1, "shop"),
    ]
    .into_iter()
    .enumerate()
    {
        let movement = NewMovement {
            part: "own-collet".to_owned(),
            kind: kind.to_owned(),
            quantity,
            why: Some(NASTY.to_owned()),
            site: Some(site.to_owned()),
            lot: Some("L-7".to_owned()),
            at: Some("2026-06-14T08:00:00+05:45".parse().expect("an instant")),
            ..NewMovement::default()
        };
        let key = format!("movement-{number}");
        owner.record_movement(&movement, &key).await.expect(kind);
    }
    let count = NewCount {
        part: "own-collet".to_owned(),
        counted: 12,
        site: Some("yard".to_owned()),
        ..NewCount::default()
    };
    let counted = owner.record_count(&count, "count").await.expect("a count");
    let receipt = NewReceipt {
        part: "own-collet".to_owned(),
        quantity: 5,
        ..NewReceipt::default()
    };
    let received = owner.record_receipt(&receipt, "receipt").await.expect("it");
    for (entry, key) in [(counted.entry, "back-1"), (received.entry, "back-2")] {
        let reversal = NewReversal { entry, why: None };
        owner.record_reversal(&reversal, key).await.expect("it");
    }
}

/// Orders: placed, in part arrived, arrived, cancelled, and a draft.
async fn orders(server: &TestServer) {
    let owner = &server.owner;
    for (number, state) in ["placed", "part", "arrived", "cancelled", "draft"]
        .into_iter()
        .enumerate()
    {
        let order = NewOrder {
            supplier: "quayhead".to_owned(),
            lines: vec![NewOrderLine {
                part: "collet-2.4".to_owned(),
                pack_size: 5,
                packs: 2,
            }],
            ..NewOrder::default()
        };
        let key = format!("order-{number}");
        let order = owner.create_order(&order, &key).await.expect("an order");
        if state != "draft" {
            owner.place_order(order.number).await.expect("it is placed");
        }
        let some = ArrivedLine {
            part: "collet-2.4".to_owned(),
            quantity: 3,
        };
        let lines = if state == "part" {
            vec![some]
        } else {
            Vec::new()
        };
        if state == "part" || state == "arrived" {
            let arrival = NewArrival {
                lines,
                ..NewArrival::default()
            };
            let key = format!("arrival-{number}");
            let came = owner.receive_order(order.number, &arrival, &key).await;
            came.expect("it arrives");
        }
        if state == "cancelled" {
            owner
                .cancel_order(order.number)
                .await
                .expect("it is cancelled");
        }
    }
    let stock = owner
        .list_stock(&ListStock::default())
        .await
        .expect("stock");
    assert!(stock.stock.len() > 5, "it is rich");
}
