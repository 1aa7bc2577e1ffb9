//! Answers on stock, and what entries name, are kept between writes: nothing of them outlives a write that was
//! acknowledged.

use chrono::TimeDelta;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{GetStock, NewUsage, Role, Stock};

const PART: &str = "WLa20-2.4";
const TAKES: i64 = 60;

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00Z").await;
    server.stocked(electrode(PART, "2.4 mm"), 100).await;
    server.torch("T1", &[PART]).await;
    // What happens at the very instant of a count is in the count.
    server.pass(TimeDelta::minutes(1));
    server
}

async fn stock(server: &TestServer, query: &GetStock) -> Stock {
    let client = server.client(Role::Read);
    client.get_stock(PART, query).await.expect("stock")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn no_read_after_an_acknowledged_write_is_of_before() {
    let server = shop().await;
    // Others read all the time, so that what is kept is filled at every moment of a write.
    let mut reading = tokio::task::JoinSet::new();
    for _ in 0..4 {
        let client = server.client(Role::Read);
        reading.spawn(async move {
            let mut last = i64::MAX;
            loop {
                let told = client.get_stock(PART, &GetStock::default()).await;
                let on_hand = told.expect("stock").on_hand;
                assert!(on_hand <= last, "{on_hand} came after {last}");
                last = on_hand;
                if last == 100 - TAKES {
                    return last;
                }
            }
        });
    }
    for taken in 1..=TAKES {
        let done = NewUsage {
            torch: Some("T1".to_owned()),
            what: Some("took".to_owned()),
            ..NewUsage::default()
        };
        let key = format!("take-{taken}");
        server.owner.record_usage(&done, &key).await.expect("use");
        let found = stock(&server, &GetStock::default()).await.on_hand;
        assert_eq!(found, 100 - taken);
    }
    while let Some(read) = reading.join_next().await {
        assert_eq!(read.expect("a reader"), 100 - TAKES);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_kept_stands_for_the_instant_at_which_it_is_asked() {
    let server = shop().await;
    let first = stock(&server, &GetStock::default()).await;
    server.set_clock("2026-06-15T09:00:00Z");
    let second = stock(&server, &GetStock::default()).await;
    assert_eq!(
        second.as_of,
        tigstock_tests::instant("2026-06-15T09:00:00Z")
    );
    assert_eq!(
        Stock {
            as_of: first.as_of,
            ..second
        },
        first
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_past_and_another_site_are_not_mixed_up_with_the_present() {
    let server = shop().await;
    stock(&server, &GetStock::default()).await;
    let past = GetStock {
        as_of: Some("2026-06-14T08:00:00Z".to_owned()),
        ..GetStock::default()
    };
    assert_eq!(stock(&server, &past).await.on_hand, 0);
    let nowhere = GetStock {
        site: Some("nowhere".to_owned()),
        ..GetStock::default()
    };
    let refused = server.owner.get_stock(PART, &nowhere).await;
    assert!(refused.is_err(), "{refused:?}");
    assert_eq!(stock(&server, &GetStock::default()).await.on_hand, 100);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_described_anew_is_told_anew() {
    let server = shop().await;
    let before = stock(&server, &GetStock::default()).await;
    let part = server.owner.get_part(PART).await.expect("a part");
    let other = electrode(PART, "3.2 mm");
    let edited = server.owner.replace_part(PART, &other, part.version).await;
    edited.expect("an edit");
    let after = stock(&server, &GetStock::default()).await;
    assert_ne!(after.name, before.name);
    assert!(after.name.contains("3.2"), "{}", after.name);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_takes_what_its_torch_has_fitted_since_a_moment_ago() {
    let server = shop().await;
    let other = "WCe20-2.4";
    let take = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        ..NewUsage::default()
    };
    for key in ["first", "second"] {
        server.owner.record_usage(&take, key).await.expect("use");
    }
    // A part that was not there is refused, and taken once it is.
    let named = NewUsage {
        part: Some(other.to_owned()),
        ..take.clone()
    };
    let refused = server.owner.record_usage(&named, "third").await;
    assert!(refused.is_err(), "{refused:?}");
    server.stocked(electrode(other, "2.4 mm"), 10).await;
    server.pass(TimeDelta::minutes(1));
    let took = server.owner.record_usage(&named, "third").await;
    took.expect("it is there now");
    server.pass(TimeDelta::minutes(1));
    server.fit("T1", &[other], 2).await;
    server.pass(TimeDelta::minutes(1));
    let took = server.owner.record_usage(&take, "fourth").await;
    took.expect("use");
    let left = (server.on_hand(PART).await, server.on_hand(other).await);
    assert_eq!(left, (98, 8));
}
