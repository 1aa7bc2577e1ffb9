//! What mends a kit comes when its supplier really delivers: closures, days without stock, learned
//! lead times and minimum orders count for one O-ring as they do for an order.

use types::{Closure, KitPurchase, NewArrival, NewOffer, NewOrder, NewOrderLine, NewSupplier};

use tigstock_tests::TestServer;

use crate::kit_seats::{check, shop};
use crate::order_over_suppliers::day;

async fn change(server: &TestServer, make: impl FnOnce(&mut NewSupplier)) {
    let found = server.owner.get_supplier("quayhead").await;
    let found = found.expect("a supplier");
    let version = found.version;
    let mut changed = found.into_new();
    make(&mut changed);
    let changed = server.owner.replace_supplier("quayhead", &changed, version);
    changed.await.expect("it is changed");
}

async fn next(server: &TestServer) -> KitPurchase {
    let told = check(server, "K-24L").await;
    let ring = told.lines.into_iter().find(|it| it.part == "o-ring-large");
    ring.and_then(|ring| ring.next).expect("a purchase")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_supplier_that_is_shut_delivers_when_it_is_open_again() {
    let server = shop().await;
    assert_eq!(next(&server).await.arrives, day("2026-06-16"));
    change(&server, |it| {
        it.closures = vec![Closure {
            first: day("2026-06-16"),
            last: Some(day("2026-06-18")),
            note: None,
        }];
    })
    .await;
    // Monday is open, Tuesday to Thursday shut: one open day on is Friday.
    assert_eq!(next(&server).await.arrives, day("2026-06-19"));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_offer_with_none_until_a_day_comes_after_it() {
    let server = shop().await;
    let offers = server
        .owner
        .list_offers(&types::page::Page::default())
        .await;
    let offer = offers.expect("offers").offers.remove(0);
    let none = NewOffer {
        none_until: Some(day("2026-06-24")),
        ..offer.clone().into_new()
    };
    let changed = server.owner.replace_offer(offer.id, &none, offer.version);
    changed.await.expect("it is changed");
    let arrives = next(&server).await.arrives;
    assert!(arrives >= day("2026-06-24"), "{arrives}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_supplier_that_was_late_before_is_expected_late() {
    let server = shop().await;
    for week in 0..6_u64 {
        let monday = day("2026-04-06") + chrono::Days::new(7 * week);
        server.set_clock(&format!("{monday}T08:00:00-03:00"));
        let order = NewOrder {
            supplier: "quayhead".to_owned(),
            lines: vec![NewOrderLine {
                part: "o-ring-large".to_owned(),
                pack_size: 10,
                packs: 1,
            }],
            ..NewOrder::default()
        };
        let key = format!("order-{week}");
        let made = server.owner.create_order(&order, &key).await;
        let number = made.expect("an order").number;
        server
            .owner
            .place_order(number)
            .await
            .expect("it is placed");
        server.set_clock(&format!("{}T09:00:00-03:00", monday + chrono::Days::new(3)));
        let everything = NewArrival::default();
        let key = format!("came-{week}");
        let came = server.owner.receive_order(number, &everything, &key).await;
        came.expect("it came");
    }
    server.set_clock("2026-06-15T08:30:00-03:00");
    let count = types::NewCount {
        part: "o-ring-large".to_owned(),
        counted: 0,
        ..types::NewCount::default()
    };
    server
        .owner
        .record_count(&count, "none")
        .await
        .expect("a count");
    // It states one open day and always took three: Monday to Thursday.
    assert_eq!(next(&server).await.arrives, day("2026-06-18"));
}

#[tokio::test(flavor = "multi_thread")]
async fn as_many_packs_as_the_minimum_order_asks_for() {
    let server = shop().await;
    change(&server, |it| {
        it.minimum_minor = 2_000;
        it.freight_minor = 500;
    })
    .await;
    // 6.00 a pack and a minimum of 20.00: four packs, 24.00 and 5.00 freight.
    let told = next(&server).await;
    assert_eq!((told.packs, told.cost_minor), (4, 2_900));
}
