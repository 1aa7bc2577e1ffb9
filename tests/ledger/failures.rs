//! When the database fails, nothing is acknowledged that is not there, and the service recovers by
//! itself when the database does.

use sea_orm::{ConnectionTrait, Database};
use server::service::ledger::Answer;
use server::service::{CannotWrite, Error, writer::Boxed};
use server::store::Store;

use tigstock_tests::database::is_without_file;

use crate::shop::{PARTS, Shop, begun};
use crate::told::{Place, Told};

const PLACE: Place = Place {
    part: 0,
    site: 0,
    slot: 3,
};

/// Tells 16 receipts of one piece together, and after them the statements of saboteurs: what became
/// of the receipts, and of the saboteurs.
async fn tell_with(
    shop: &Shop,
    sabotage: &[&'static str],
) -> (Vec<Result<Answer, Error>>, Vec<Result<(), Error>>) {
    let open = shop.hold_writer().await;
    let (mut telling, mut spoiling) = (Vec::new(), Vec::new());
    for index in 0..16 {
        let (context, key) = (shop.context.clone(), format!("receipt-{index}"));
        let tell = async move { Told::Receive(PLACE, 1, None).tell_in(&context, &key).await };
        telling.push(begun(tell).await);
    }
    for sabotage in sabotage {
        let (writer, sabotage) = (shop.context.writer.clone(), statements(sabotage));
        spoiling.push(begun(async move { writer.write(sabotage).await }).await);
    }
    drop(open);
    let (mut answers, mut spoilt) = (Vec::new(), Vec::new());
    for telling in telling {
        answers.push(telling.await.expect("it ended"));
    }
    for spoiling in spoiling {
        spoilt.push(spoiling.await.expect("it ended"));
    }
    (answers, spoilt)
}

fn statements(
    sql: &'static str,
) -> impl for<'t> FnOnce(&'t sea_orm::DatabaseTransaction) -> Boxed<'t, Result<(), Error>> + Send {
    move |tx| {
        Box::pin(async move {
            let done = tx.execute_unprepared(sql).await;
            done.map(|_| ())
                .map_err(|error| Error::Internal(error.to_string()))
        })
    }
}

async fn on_hand(shop: &Shop) -> i64 {
    let levels = shop.levels().await;
    let level = levels.get(&(PARTS[PLACE.part].to_owned(), "shop".to_owned()));
    level.map_or(0, |level| level.on_hand)
}

fn assert_unavailable(answers: &[Result<Answer, Error>]) {
    for answer in answers {
        assert!(matches!(answer, Err(Error::Unavailable)), "{answer:?}");
    }
}

/// A reference that is only checked at the commit, and then is found to be broken.
const BROKEN_AT_COMMIT: &str = "PRAGMA defer_foreign_keys = ON; \
    INSERT INTO levels (part_id, site_id, on_hand, on_hold, on_order) VALUES (999, 999, 1, 0, 0)";

#[tokio::test(flavor = "multi_thread")]
async fn a_commit_that_fails_acknowledges_nothing() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    let (answers, spoilt) = tell_with(&shop, &[BROKEN_AT_COMMIT]).await;
    assert_unavailable(&answers);
    assert!(
        matches!(spoilt[..], [Err(Error::Unavailable)]),
        "{spoilt:?}"
    );
    assert_eq!(on_hand(&shop).await, 0);
    // The same keys again, and now they are good.
    let (answers, _) = tell_with(&shop, &[]).await;
    assert!(answers.iter().all(Result::is_ok), "{answers:?}");
    assert_eq!(on_hand(&shop).await, 16);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transaction_that_is_lost_in_the_middle_acknowledges_nothing() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    // What a full disk or a failing one may do to SQLite: the whole transaction is gone. What is
    // refused after it must not make up a transaction whose commit is good.
    let (answers, spoilt) = tell_with(&shop, &["ROLLBACK", "SELECT refused", "SELECT 1"]).await;
    assert_unavailable(&answers);
    assert!(spoilt.iter().all(Result::is_err), "{spoilt:?}");
    assert_eq!(on_hand(&shop).await, 0);
    let (answers, _) = tell_with(&shop, &[]).await;
    assert!(answers.iter().all(Result::is_ok), "{answers:?}");
    assert_eq!(on_hand(&shop).await, 16);
    let left = shop.as_left_behind().await;
    assert_eq!(on_hand(&left).await, 16);
    assert_eq!(shop.rebuild().await.levels_wrong, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_full_disk_acknowledges_nothing_and_room_is_found_by_itself() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    let mut acknowledged = 0;
    for round in 0..3 {
        // A file that may not grow is what a full disk is to SQLite.
        let full = statements("PRAGMA max_page_count = 1");
        shop.context.writer.write(full).await.expect("a limit");
        let mut entries = 0;
        loop {
            let key = format!("{round}-{entries}");
            match Told::Receive(PLACE, 1, None).tell(&shop, &key).await {
                Ok(_) => acknowledged += 1,
                Err(Error::CannotWrite { why, .. }) => {
                    assert_eq!(why, CannotWrite::Disk);
                    break;
                }
                Err(other) => panic!("{other:?}"),
            }
            entries += 1;
            assert!(entries < 400, "the file never was full");
        }
        assert_eq!(on_hand(&shop).await, acknowledged, "round {round}");
    }
    let wider = statements("PRAGMA max_page_count = 100000");
    shop.context
        .writer
        .write(wider)
        .await
        .expect("a wider limit");
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "after").await;
    answer.expect("there is room again");
    assert_eq!(on_hand(&shop).await, acknowledged + 1);
    assert_eq!(shop.rebuild().await.levels_wrong, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_connection_that_may_not_write_acknowledges_nothing_and_gives_way_to_one_that_may() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    Told::Receive(PLACE, 3, None)
        .tell(&shop, "before")
        .await
        .expect("a receipt");
    shop.context
        .writer
        .write(statements("PRAGMA query_only = ON"))
        .await
        .expect("a pragma");
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "K1").await;
    let why = CannotWrite::ReadOnly;
    assert!(
        matches!(&answer, Err(Error::CannotWrite { why: told, .. }) if *told == why),
        "{answer:?}"
    );
    assert_eq!(on_hand(&shop).await, 3);
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "K1").await;
    answer.expect("the next connection may");
    assert_eq!(on_hand(&shop).await, 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn while_another_process_writes_nothing_is_acknowledged_and_then_it_goes_on() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    let url = format!("sqlite://{}", shop.file().display());
    let other = Database::connect(url).await.expect("another process");
    other
        .execute_unprepared("BEGIN IMMEDIATE")
        .await
        .expect("the lock");
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "K1").await;
    assert!(matches!(answer, Err(Error::Unavailable)), "{answer:?}");
    assert_eq!(on_hand(&shop).await, 0);
    other
        .execute_unprepared("ROLLBACK")
        .await
        .expect("the lock is given back");
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "K1").await;
    assert!(!answer.expect("a receipt").repeated);
    assert_eq!(on_hand(&shop).await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closed_database_acknowledges_nothing() {
    if is_without_file("fails as SQLite does") {
        return;
    }
    let shop = Shop::open().await;
    shop.context.store.clone().close().await.expect("closed");
    let answer = Told::Receive(PLACE, 1, None).tell(&shop, "K1").await;
    assert!(answer.is_err(), "{answer:?}");
    let reopened = Store::open(shop.file()).await.expect("a database");
    let levels = server::store::levels::all(reopened.read())
        .await
        .expect("levels");
    assert!(levels.is_empty(), "{levels:?}");
}
