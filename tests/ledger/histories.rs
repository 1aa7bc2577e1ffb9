//! Any history, with orders, lots, promises, holds and entries taken back: what is kept is what the
//! model says, what a rebuild finds, and what the explanation adds up to; what must be refused is
//! refused.

use proptest::prelude::*;
use server::service::{self, Error};
use types::NewReceipt;

use crate::history::{History, Step, step};
use crate::shop::{CALLER, Figures, PARTS, SITES, Shop, cases, run};
use crate::told::{Label, Place, Told, take_back};

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn everything_is_what_the_model_says_and_a_rebuild_finds(
        steps in prop::collection::vec(step(), 1..40),
    ) {
        run(async {
            let mut history = History::begin_with_lot().await?;
            for step in &steps {
                history.take(step).await?;
            }
            history.check().await?;
            Ok(())
        })?;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_rebuild_puts_right_what_was_kept_wrongly() {
    let mut history = History::begin().await;
    let place = Place {
        part: 0,
        site: 0,
        slot: 3,
    };
    let used = Told::Use {
        torch: 0,
        slot: 4,
        worn: [75, 3, 0, 9],
        done: Some(("took", 0, 2)),
        label: Label::default(),
    };
    for told in [Told::Receive(place, 10, None), used] {
        history.take(&Step::Tell(told)).await.expect("an entry");
    }
    let (levels, wear) = (history.shop.levels().await, history.shop.wear().await);
    spoil(&history.shop).await;
    assert_ne!(history.shop.levels().await, levels);
    assert_ne!(history.shop.wear().await, wear);
    let rebuilt = history.shop.rebuild().await;
    // The level and both sums that follow from the ledger, and a level that follows from nothing.
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (2, 2));
    assert_eq!(history.shop.levels().await, levels);
    assert_eq!(history.shop.wear().await, wear);
    let again = history.shop.rebuild().await;
    assert_eq!((again.levels_wrong, again.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cancelled_order_stays_cancelled_when_what_came_is_taken_back() {
    let mut history = History::begin_with_order().await.expect("an order");
    let first = 0;
    for step in [
        Step::Arrive(first, Some(3), 1),
        Step::Cancel(first),
        Step::TakeBack(first),
    ] {
        history.take(&step).await.expect("a step that agrees");
    }
    history.check_orders().await.expect("it is cancelled");
    assert!(history.shop.levels().await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn goods_for_an_order_may_come_in_at_another_site() {
    let history = History::begin_with_order().await.expect("an order");
    let context = &history.shop.context;
    let key = |site: usize| (PARTS[0].to_owned(), SITES[site].to_owned());
    // Two are in the drawer of the site that ordered 7.
    let place = Place {
        part: 0,
        site: 0,
        slot: 1,
    };
    let there = Told::Receive(place, 2, None)
        .tell(&history.shop, "K1")
        .await;
    there.expect("a receipt");
    let receipt = NewReceipt {
        part: PARTS[0].to_owned(),
        quantity: 3,
        order: history.orders[0].parse().ok(),
        site: Some(SITES[1].to_owned()),
        ..NewReceipt::default()
    };
    let came = service::ledger::record_receipt(context, CALLER, "K2", receipt).await;
    came.expect("a receipt for the order");
    let levels = history.shop.levels().await;
    let there = Figures {
        on_hand: 2,
        on_order: 4,
        ..Figures::default()
    };
    let came = Figures {
        on_hand: 3,
        ..Figures::default()
    };
    assert_eq!((levels[&key(0)], levels[&key(1)]), (there, came));
    assert_eq!(history.shop.rebuild().await.levels_wrong, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hold_is_not_taken_back_once_its_pieces_are_released() {
    let mut history = History::begin().await;
    let place = Place {
        part: 0,
        site: 0,
        slot: 3,
    };
    for (key, kind) in [("K1", "hold"), ("K2", "release")] {
        let told = Told::Move(place, kind, 4, Label::default());
        history.tell(&told, key).await.expect("it is accepted");
    }
    let back = take_back(&history.shop, history.entries[0], "K3").await;
    assert!(matches!(back, Err(Error::WrongState(_))), "{back:?}");
    // The release first, then the hold.
    for (entry, key) in [(1, "K4"), (0, "K5")] {
        let back = take_back(&history.shop, history.entries[entry], key).await;
        back.expect("it is taken back");
    }
    assert!(history.shop.levels().await.is_empty());
}

/// Changes what is kept behind the back of the service.
async fn spoil(shop: &Shop) {
    use sea_orm::ConnectionTrait;
    let spoilt = shop.context.writer.write(|tx| {
        Box::pin(async move {
            let statements = "UPDATE levels SET on_hand = on_hand + 1; \
                 INSERT INTO levels (part_id, site_id, on_hand, on_hold, on_order) \
                 SELECT parts.id, sites.id, 0, 0, 7 FROM parts, sites \
                 WHERE parts.code = 'gas-lens-2.4' AND sites.code = 'yard'; \
                 UPDATE wear SET arc_seconds = arc_seconds + 60;";
            let done = tx.execute_unprepared(statements).await;
            done.map(|_| ())
                .map_err(|error| Error::Internal(error.to_string()))
        })
    });
    spoilt.await.expect("it is spoilt");
}
