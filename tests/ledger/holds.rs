//! Lots and what is on hold of them, where a history found the book wrong or could: what is gone is
//! not held, what is held is freed once, and a correction of the book frees nothing.

use domain::ledger::MovementKind;
use server::service::Error;

use crate::history::{History, Step};
use crate::sent::Sent;
use crate::shop::{PARTS, SITES};
use crate::told::{Label, Place, Told, take_back};

const PLACE: Place = Place {
    part: 0,
    site: 0,
    slot: 3,
};
const OF_LOT: Label = Label {
    group: 0,
    lot: Some(0),
    job: None,
};

#[tokio::test(flavor = "multi_thread")]
async fn a_hold_is_not_taken_back_once_its_pieces_are_released() {
    let mut history = History::begin().await;
    for (key, kind) in [("K1", "hold"), ("K2", "release")] {
        let told = Told::Move(PLACE, kind, 4, Label::default());
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

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_whose_receipt_was_taken_back_never_came_in() {
    let mut history = History::begin().await;
    for step in [
        Step::Tell(Told::Receive(PLACE, 5, Some(0))),
        Step::TakeBack(0),
    ] {
        history.take(&step).await.expect("a step that agrees");
    }
    let issue = Told::Move(PLACE, "issue", 1, OF_LOT);
    let refused = issue.tell(&history.shop, "K1").await;
    let Err(Error::Invalid(violations)) = refused else {
        panic!("{refused:?}");
    };
    assert_eq!(violations[0].pointer, "/lot");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_on_hold_as_a_lot_is_released_as_that_lot() {
    let mut history = History::begin().await;
    for told in [
        Told::Receive(PLACE, 5, Some(0)),
        Told::Move(PLACE, "hold", 3, OF_LOT),
        Told::Move(PLACE, "hold", 1, Label::default()),
    ] {
        history.take(&Step::Tell(told)).await.expect("an entry");
    }
    // One is on hold outside of the lot, three of it.
    for (label, quantity, pieces) in [(Label::default(), 2, "1 on hold"), (OF_LOT, 4, "3 on hold")]
    {
        let released = Told::Move(PLACE, "release", quantity, label);
        let refused = released.tell(&history.shop, "K1").await;
        let Err(Error::Invalid(violations)) = refused else {
            panic!("{refused:?}");
        };
        assert_eq!(violations[0].pointer, "/quantity");
        assert!(
            violations[0].detail.contains(pieces),
            "{}",
            violations[0].detail
        );
    }
    // All five are used, so that none of the lot is on hold; the one outside of it still is.
    let used = Told::Use {
        torch: 0,
        slot: 4,
        worn: [0, 0, 0, 1],
        done: Some(("took", 0, 5)),
        label: OF_LOT,
    };
    history.take(&Step::Tell(used)).await.expect("a use");
    let key = (PARTS[0].to_owned(), SITES[0].to_owned());
    assert_eq!(history.shop.levels().await[&key].on_hold, 1);
    // Neither can the hold of the lot be taken back: its pieces are gone.
    let back = take_back(&history.shop, history.entries[1], "K2").await;
    assert!(matches!(back, Err(Error::WrongState(_))), "{back:?}");
    history.check().await.expect("as the model says");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transfer_of_a_lot_that_is_on_hold_there_is_not_taken_back() {
    let mut history = History::begin().await;
    for step in [
        Step::Tell(Told::Receive(PLACE, 5, Some(0))),
        Step::Tell(Told::Transfer(PLACE, 3, Some(0))),
        Step::Lot(MovementKind::Hold, 0, 0),
    ] {
        history.take(&step).await.expect("a step that agrees");
    }
    let back = take_back(&history.shop, history.entries[1], "K1").await;
    assert!(matches!(back, Err(Error::WrongState(_))), "{back:?}");
    let release = Step::Lot(MovementKind::Release, 0, 0);
    history.take(&release).await.expect("it is released");
    let back = take_back(&history.shop, history.entries[1], "K2").await;
    back.expect("it is taken back");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_undo_frees_nothing_by_itself() {
    let mut history = History::begin().await;
    for step in [
        Step::Tell(Told::Receive(PLACE, 5, Some(0))),
        Step::Tell(Told::Move(PLACE, "return", 1, OF_LOT)),
        Step::Lot(MovementKind::Hold, 0, 0),
    ] {
        history.take(&step).await.expect("a step that agrees");
    }
    let back = Sent::Back(history.entries[1]);
    let back = back.send(&history.shop.context, "K1").await;
    back.expect("the return is taken back");
    history.model.take_back(1);
    // What was put on hold stays so: a correction of the book is no reason to free a lot.
    let key = (PARTS[0].to_owned(), SITES[0].to_owned());
    let level = history.shop.levels().await[&key];
    assert_eq!((level.on_hand, level.on_hold), (5, 6));
    history.check().await.expect("as the model says");
}
