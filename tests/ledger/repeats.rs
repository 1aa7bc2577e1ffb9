//! A repeat is harmless: the same key gives the same answer and changes nothing, whether it comes at
//! once, later, or beside the first.

use proptest::prelude::*;
use server::service::{Error, ledger::Answer};

use crate::made_up::told;
use crate::shop::{Shop, begun, cases, entry, run};
use crate::told::{Label, Place, Told, take_back};

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn telling_everything_again_changes_nothing_and_answers_the_same(
        entries in prop::collection::vec((told(), prop::bool::weighted(0.2)), 1..12),
    ) {
        run(async {
            let shop = Shop::open().await;
            let mut answers = Vec::new();
            for (index, (told, taken_back)) in entries.iter().enumerate() {
                let answer = told.tell(&shop, &format!("entry-{index}")).await;
                if let (Ok(answer), true) = (&answer, taken_back) {
                    let back = take_back(&shop, entry(answer), &format!("back-{index}")).await;
                    let refused = matches!(back, Err(Error::WrongState(_) | Error::Invalid(_)));
                    prop_assert!(back.is_ok() || refused);
                }
                answers.push(answer);
            }
            let kept = (shop.levels().await, shop.wear().await);
            for (index, (told, _)) in entries.iter().enumerate() {
                // What was refused is no entry, and may be right by now.
                if let Ok(first) = &answers[index] {
                    let again = told.tell(&shop, &format!("entry-{index}")).await;
                    let again = again.expect("the answer that was given before");
                    prop_assert_eq!((first.status, &first.body), (again.status, &again.body));
                    prop_assert!(again.repeated && !first.repeated);
                }
            }
            prop_assert_eq!((shop.levels().await, shop.wear().await), kept);
            Ok(())
        })?;
    }
}

const RECEIPT: Told = Told::Receive(
    Place {
        part: 0,
        site: 0,
        slot: 1,
    },
    10,
    None,
);

#[tokio::test(flavor = "multi_thread")]
async fn the_same_key_for_something_else_is_refused_and_changes_nothing() {
    let shop = Shop::open().await;
    RECEIPT.tell(&shop, "K1").await.expect("a receipt");
    let kept = shop.levels().await;
    let place = Place {
        part: 0,
        site: 0,
        slot: 1,
    };
    for other in [
        Told::Receive(place, 11, None),
        Told::Count(place, 10),
        Told::Move(place, "issue", 10, Label::default()),
    ] {
        let answer = other.tell(&shop, "K1").await;
        assert!(
            matches!(answer, Err(Error::KeyReused(ref key)) if key == "K1"),
            "{answer:?}"
        );
    }
    assert_eq!(shop.levels().await, kept);
}

#[tokio::test(flavor = "multi_thread")]
async fn repeats_in_one_group_are_one_entry() {
    let shop = Shop::open().await;
    let open = shop.hold_writer().await;
    let mut telling = Vec::new();
    for _ in 0..32 {
        let context = shop.context.clone();
        telling.push(begun(async move { RECEIPT.tell_in(&context, "K1").await }).await);
    }
    drop(open);
    let mut answers = Vec::new();
    for answer in telling {
        answers.push(answer.await.expect("it ended").expect("an answer"));
    }
    let first: Vec<&Answer> = answers.iter().filter(|answer| !answer.repeated).collect();
    assert_eq!(first.len(), 1);
    assert!(answers.iter().all(|answer| answer.body == first[0].body));
    let levels = shop.levels().await;
    let on_hand: Vec<i64> = levels.values().map(|level| level.on_hand).collect();
    assert_eq!(on_hand, [10]);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_taken_back_is_answered_as_before_and_stays_taken_back() {
    let shop = Shop::open().await;
    let told = RECEIPT.tell(&shop, "K1").await.expect("a receipt");
    let back = take_back(&shop, entry(&told), "K2")
        .await
        .expect("a reversal");
    let again = RECEIPT
        .tell(&shop, "K1")
        .await
        .expect("the answer of before");
    assert_eq!(again.body, told.body);
    let again = take_back(&shop, entry(&told), "K2")
        .await
        .expect("the answer of before");
    assert_eq!(again.body, back.body);
    assert!(shop.levels().await.is_empty());
}
