//! Group commit: what waits together is written together, and what fails in it harms no other.

use sea_orm::ConnectionTrait;
use server::service::ledger::{self, Answer};
use server::service::{Context, Error};
use types::{ListUsage, NewUsage};

use crate::shop::{CALLER, Figures, PARTS, Shop, TORCHES, begun};
use crate::told::{Place, Told};

/// How many posts wait together.
const POSTS: usize = 64;

/// What the post of that number is: most are good, some name a part that is not there, some a torch
/// that is not there, some use a key that another used for something else.
fn post(index: usize) -> (String, NewUsage) {
    let mut usage = NewUsage {
        torch: Some(TORCHES[1].to_owned()),
        what: Some("took".to_owned()),
        part: Some(PARTS[0].to_owned()),
        arc_minutes: Some(10),
        ..NewUsage::default()
    };
    let mut key = format!("post-{index}");
    match index % 8 {
        3 => usage.part = Some("nothing-of-ours".to_owned()),
        5 => usage.torch = Some("T9".to_owned()),
        7 => {
            "before".clone_into(&mut key);
            usage.qty = Some(2);
        }
        _ => {}
    }
    (key, usage)
}

fn is_good(index: usize) -> bool {
    ![3, 5, 7].contains(&(index % 8))
}

async fn tell(context: Context, index: usize) -> Result<Answer, Error> {
    let (key, usage) = post(index);
    ledger::record_usage(&context, CALLER, &key, usage).await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_refused_in_a_group_harms_no_other() {
    let shop = Shop::open().await;
    let (_, usage) = post(0);
    let before = ledger::record_usage(&shop.context, CALLER, "before", usage).await;
    before.expect("a first entry");
    let open = shop.hold_writer().await;
    let mut telling = Vec::new();
    for index in 0..POSTS {
        telling.push(begun(tell(shop.context.clone(), index)).await);
    }
    drop(open);
    let mut good = 0;
    for (index, answer) in telling.into_iter().enumerate() {
        let answer = answer.await.expect("it ended");
        if is_good(index) {
            good += 1;
            assert_eq!(answer.expect("a good post").status, 201);
        } else if index % 8 == 7 {
            assert!(matches!(answer, Err(Error::KeyReused(_))), "{answer:?}");
        } else {
            assert!(matches!(answer, Err(Error::Invalid(_))), "{answer:?}");
        }
    }
    assert_eq!(good, 40);
    // The acknowledged ones are there, and nothing else: with the first, 41 took one each.
    let level = shop.levels().await[&(PARTS[0].to_owned(), "yard".to_owned())];
    let taken = Figures {
        on_hand: -41,
        ..Figures::default()
    };
    assert_eq!(level, taken);
    let everything = ListUsage {
        limit: Some(500),
        ..ListUsage::default()
    };
    let page = ledger::list_usage(&shop.context, &everything).await;
    assert_eq!(page.expect("a page").usage.len(), 41);
    let rebuilt = shop.rebuild().await;
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_database_refuses_in_a_group_harms_no_other() {
    let shop = Shop::open().await;
    forbid(&shop, "grinds = 13").await;
    let open = shop.hold_writer().await;
    let mut telling = Vec::new();
    for index in 0..POSTS {
        let context = shop.context.clone();
        let tell = async move {
            let usage = NewUsage {
                torch: Some(TORCHES[0].to_owned()),
                grinds: Some(if index % 16 == 5 { 13 } else { 2 }),
                ..NewUsage::default()
            };
            let key = format!("post-{index}");
            ledger::record_usage(&context, CALLER, &key, usage).await
        };
        telling.push(begun(tell).await);
    }
    drop(open);
    for (index, answer) in telling.into_iter().enumerate() {
        let answer = answer.await.expect("it ended");
        assert_eq!(answer.is_err(), index % 16 == 5, "{index}: {answer:?}");
    }
    // Each of the 60 good ones wore what was fitted by two grinds.
    let wear = shop.wear().await;
    let grinds: Vec<i64> = wear.values().map(|(sums, _)| sums[2]).collect();
    assert_eq!(grinds, [120, 120]);
    let rebuilt = shop.rebuild().await;
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_task_that_fails_in_a_group_leaves_nothing_and_harms_no_other() {
    let shop = Shop::open().await;
    let open = shop.hold_writer().await;
    let place = Place {
        part: 2,
        site: 0,
        slot: 3,
    };
    let context = shop.context.clone();
    let good = async move { Told::Receive(place, 4, None).tell_in(&context, "K1").await };
    let writer = shop.context.writer.clone();
    let bad = async move {
        let write = writer.write(|tx| {
            Box::pin(async move {
                let spoilt = tx.execute_unprepared("DELETE FROM set_up_parts").await;
                spoilt.map_err(|error| Error::Internal(error.to_string()))?;
                Err::<(), _>(Error::WrongState("it changed its mind".to_owned()))
            })
        });
        write.await
    };
    let (good, bad) = (begun(good).await, begun(bad).await);
    drop(open);
    good.await.expect("it ended").expect("a receipt");
    let bad = bad.await.expect("it ended");
    assert!(matches!(bad, Err(Error::WrongState(_))), "{bad:?}");
    let torch = server::service::torches::get(&shop.context, TORCHES[0]).await;
    assert_eq!(torch.expect("a torch").fitted, [PARTS[1], PARTS[3]]);
    let levels: Vec<i64> = shop
        .levels()
        .await
        .values()
        .map(|level| level.on_hand)
        .collect();
    assert_eq!(levels, [4]);
}

/// Makes the database itself refuse entries of a kind, as a full disk or a fault would.
async fn forbid(shop: &Shop, what: &str) {
    let trigger = match tigstock_tests::database::server() {
        None => format!(
            "CREATE TRIGGER forbidden BEFORE INSERT ON entries WHEN NEW.{what} \
             BEGIN SELECT RAISE(ABORT, 'forbidden'); END"
        ),
        Some(_) => format!(
            "CREATE FUNCTION forbid() RETURNS trigger LANGUAGE plpgsql AS \
             $$ BEGIN RAISE EXCEPTION 'forbidden'; END $$; \
             CREATE TRIGGER forbidden BEFORE INSERT ON entries FOR EACH ROW WHEN (NEW.{what}) \
             EXECUTE FUNCTION forbid()"
        ),
    };
    let made = shop.context.writer.write(move |tx| {
        Box::pin(async move {
            let made = tx.execute_unprepared(&trigger).await;
            made.map(|_| ())
                .map_err(|error| Error::Internal(error.to_string()))
        })
    });
    made.await.expect("a trigger");
}
