//! Any history, with orders, lots, promises, holds and entries taken back: what is kept is what the
//! model says, what a rebuild finds, and what the explanation adds up to; what must be refused is
//! refused.

use std::cell::RefCell;
use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use server::service::{self, Error};
use types::NewReceipt;

use crate::history::{History, Step, step};
use crate::shop::{CALLER, Figures, PARTS, SITES, Shop, cases, run};
use crate::told::{Label, Place, Told};

/// What the histories must have met, accepted.
const ACCEPTED: [&str; 28] = [
    "receipt",
    "receipt of a lot",
    "count",
    "use",
    "took of a lot",
    "put-back of a lot",
    "broke",
    "lost",
    "issue",
    "issue of a lot",
    "return",
    "return of a lot",
    "scrap of a lot",
    "supplier-return",
    "supplier-return of a lot",
    "adjustment",
    "adjustment of a lot",
    "hold",
    "hold of a lot",
    "release",
    "release of a lot",
    "transfer",
    "transfer of a lot",
    "promise",
    "hold of what is left",
    "release of what is left",
    "answer unlogged-use",
    "answer lot",
];

/// What they must have met, refused.
const REFUSED: [&str; 9] = [
    "took of a lot",
    "issue of a lot",
    "release",
    "release of a lot",
    "transfer",
    "transfer of a lot",
    "promise",
    "reversal",
    "answer unlogged-use",
];

#[test]
fn everything_is_what_the_model_says_and_a_rebuild_finds() {
    let met = RefCell::new(BTreeMap::new());
    let steps = prop::collection::vec(step(), 1..48);
    let mut runner = TestRunner::new(cases(300));
    let done = runner.run(&steps, |steps| {
        run(async {
            let mut history = History::begin_with_lot().await?;
            for step in &steps {
                history.take(step).await?;
            }
            history.check().await?;
            for (one, times) in history.met {
                *met.borrow_mut().entry(one).or_insert(0) += times;
            }
            Ok(())
        })
    });
    if let Err(error) = done {
        panic!("{error}");
    }
    let met = met.into_inner();
    let named = |names: &[&str], accepted: bool| -> Vec<_> {
        let names = names.iter().map(|name| ((*name).to_owned(), accepted));
        names.filter(|one| !met.contains_key(one)).collect()
    };
    assert_eq!(named(&ACCEPTED, true), [], "never accepted");
    assert_eq!(named(&REFUSED, false), [], "never refused");
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
    // The level and all three sums of both parts, of the day, by current and in all, that follow from the
    // ledger, and a level that follows from nothing.
    assert_eq!((rebuilt.levels_wrong, rebuilt.wear_wrong), (2, 6));
    assert_eq!(history.shop.levels().await, levels);
    assert_eq!(history.shop.wear().await, wear);
    let again = history.shop.rebuild().await;
    assert_eq!((again.levels_wrong, again.wear_wrong), (0, 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_from_before_days_and_currents_were_kept_gets_them_once() {
    use sea_orm::ConnectionTrait;
    let mut history = History::begin().await;
    let used = Told::Use {
        torch: 0,
        slot: 4,
        worn: [75, 3, 0, 9],
        done: Some(("took", 0, 2)),
        label: Label::default(),
    };
    history.take(&Step::Tell(used)).await.expect("an entry");
    let context = history.shop.context.clone();
    let days = || async {
        let days = server::store::wear_days::all(context.store.read()).await;
        let mut days = days.expect("days");
        days.sort_by_key(|row| row.part_id);
        let currents = server::store::wear_currents::all(context.store.read()).await;
        let mut currents = currents.expect("currents");
        currents.sort_by_key(|row| row.part_id);
        (days, currents)
    };
    let kept = days().await;
    assert!(!kept.0.is_empty() && !kept.1.is_empty());
    assert!(
        !service::rebuild::fill_days(&context)
            .await
            .expect("it is looked at")
    );
    for table in ["wear_days", "wear_currents"] {
        let emptied = context.writer.write(move |tx| {
            Box::pin(async move {
                let done = tx.execute_unprepared(&format!("DELETE FROM {table}")).await;
                done.map(|_| ())
                    .map_err(|error| Error::Internal(error.to_string()))
            })
        });
        emptied.await.expect("it is emptied");
        assert!(
            service::rebuild::fill_days(&context)
                .await
                .expect("it is filled")
        );
        assert_eq!(days().await, kept);
    }
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

/// Counts of the first part at the first site: in which slot, how many.
async fn counted(history: &mut History, counts: &[(i64, i64)]) {
    for (slot, counted) in counts.iter().copied() {
        let place = Place {
            part: 0,
            site: 0,
            slot,
        };
        let count = Step::Tell(Told::Count(place, counted));
        history.take(&count).await.expect("a count");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_that_agrees_once_another_is_there_or_gone_is_not_asked_about() {
    for (first, then, left_open) in [
        // The count before it is taken back: the book begins with the later one.
        (&[(1, 4), (5, 3)][..], Step::TakeBack(1), 0),
        // 3 where the book says 4; and then 3 were counted in between as well.
        (
            &[(1, 4), (5, 3)],
            Step::Tell(Told::Count(
                Place {
                    part: 0,
                    site: 0,
                    slot: 3,
                },
                3,
            )),
            0,
        ),
        // Two more than the book says, and nothing happens that explains it.
        (&[(1, 2), (5, 4)], Step::Repeat(0), 1),
    ] {
        let mut history = History::begin().await;
        counted(&mut history, first).await;
        assert_eq!(history.open("variance").await.expect("questions").len(), 1);
        history.take(&then).await.expect("a step that agrees");
        let open = history.open("variance").await.expect("questions");
        assert_eq!(open.len(), left_open, "{then:?}: {open:?}");
        history.check().await.expect("as the model says");
    }
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
                 UPDATE wear SET arc_seconds = arc_seconds + 60; \
                 UPDATE wear_days SET grinds = grinds + 1; \
                 UPDATE wear_currents SET grinds = grinds + 1;";
            let done = tx.execute_unprepared(statements).await;
            done.map(|_| ())
                .map_err(|error| Error::Internal(error.to_string()))
        })
    });
    spoilt.await.expect("it is spoilt");
}
