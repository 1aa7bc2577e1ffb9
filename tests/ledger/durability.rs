//! What was acknowledged is on disk: another connection sees it at once, and so does whoever opens
//! the files as they lie there, as after a loss of power of the process.

use proptest::prelude::*;
use sea_orm::{ConnectionTrait, Database, Statement};
use tigstock_tests::database::is_without_file;
use tokio::task::JoinSet;
use uuid::Uuid;

use crate::made_up::told;
use crate::shop::{Shop, cases, entry, run};
use crate::told::{Place, Told};

proptest! {
    #![proptest_config(cases(16))]

    #[test]
    fn each_acknowledged_entry_is_seen_by_another_connection(
        entries in prop::collection::vec(told(), 1..10),
    ) {
        if is_without_file("reads the file as another process does") {
            return Ok(());
        }
        run(async {
            let shop = Shop::open().await;
            let url = format!("sqlite://{}?mode=ro", shop.file().display());
            let other = Database::connect(url).await.expect("another connection");
            for (index, told) in entries.iter().enumerate() {
                let Ok(answer) = told.tell(&shop, &format!("entry-{index}")).await else {
                    continue;
                };
                let query = Statement::from_sql_and_values(
                    other.get_database_backend(),
                    "SELECT count(*) AS rows FROM entries JOIN replies ON replies.key = ? \
                     WHERE entries.id = ?",
                    [format!("entry-{index}").into(), entry(&answer).into()],
                );
                let row = other.query_one_raw(query).await.expect("an answer");
                let rows: i64 = row.expect("a row").try_get("", "rows").expect("a number");
                prop_assert_eq!(rows, 1, "{:?}", told);
            }
            Ok(())
        })?;
    }

    #[test]
    fn the_files_as_they_lie_there_hold_all_that_was_acknowledged(
        entries in prop::collection::vec(told(), 1..10),
    ) {
        if is_without_file("reads the file as another process does") {
            return Ok(());
        }
        run(async {
            let shop = Shop::open().await;
            for (index, told) in entries.iter().enumerate() {
                // Some are refused, such as the release of what is not on hold.
                let _ = told.tell(&shop, &format!("entry-{index}")).await;
            }
            let left = shop.as_left_behind().await;
            prop_assert_eq!(left.levels().await, shop.levels().await);
            prop_assert_eq!(left.wear().await, shop.wear().await);
            let rebuilt = left.rebuild().await;
            prop_assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
            Ok(())
        })?;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_copy_taken_in_the_middle_of_many_writes_holds_what_was_acknowledged_before() {
    if is_without_file("copies files in use") {
        return;
    }
    let shop = Shop::open().await;
    let place = Place {
        part: 0,
        site: 0,
        slot: 3,
    };
    let mut telling = JoinSet::new();
    for index in 0..40 {
        let context = shop.context.clone();
        telling.spawn(async move {
            let told = Told::Receive(place, 1, None);
            told.tell_in(&context, &format!("entry-{index}")).await
        });
    }
    let mut acknowledged: Vec<Uuid> = Vec::new();
    while acknowledged.len() < 10 {
        let answer = telling.join_next().await.expect("more to come");
        acknowledged.push(entry(&answer.expect("it ended").expect("a receipt")));
    }
    let left = shop.as_left_behind().await;
    let found =
        server::store::entries::get_many(left.context.store.read(), acknowledged.clone()).await;
    assert_eq!(found.expect("entries").len(), acknowledged.len());
    let rebuilt = left.rebuild().await;
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
}
