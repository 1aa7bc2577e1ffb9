//! `order --from`: the closures of a supplier and the price breaks of its packs, and orders below its
//! minimum.

use tigstock_tests::demo::furnished;
use types::NewSupplier;

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_closure_is_told_shown_and_taken_away() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    let line = "order --from quayhead --shut 2026-06-22..2026-06-24 --note stocktaking";
    let told = computer.run(line).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .contains("Shut 2026-06-22 to 2026-06-24 (stocktaking)."),
        "{}",
        told.out
    );
    // The order for Friday's job now has to go before the closure.
    let told = computer.run("plan R-118").await;
    assert!(told.out.contains("by Fri 19 Jun 12:00"), "{}", told.out);
    let told = computer
        .run("order --from quayhead --open 2026-06-22")
        .await;
    assert!(!told.out.contains("Shut"), "{}", told.out);
    let told = computer
        .run("order --from quayhead --open 2026-06-22")
        .await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(
        told.err
            .contains("no closure of quayhead begins on 2026-06-22"),
        "{}",
        told.err
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn price_breaks_are_told_and_taken_away() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    let of = "order --from quayhead --part WLa20-2.4 --pack-of 10 --break";
    let told = computer.run(&format!("{of} 3=39.00 5=37.50")).await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .contains("39.00 CAD from 3 packs on; 37.50 CAD from 5 packs on"),
        "{}",
        told.out
    );
    let offers = server
        .owner
        .list_offers(&types::page::Page::default())
        .await;
    let offers = offers.expect("offers").offers;
    let offer = offers
        .iter()
        .find(|it| (&*it.supplier, &*it.part) == ("quayhead", "WLa20-2.4"))
        .expect("the offer");
    let breaks: Vec<(i64, i64)> = offer
        .breaks
        .iter()
        .map(|it| (it.packs_min, it.price_minor))
        .collect();
    assert_eq!(breaks, [(3, 3_900), (5, 3_750)]);
    let told = computer.run(&format!("{of} none")).await;
    assert!(!told.out.contains("packs on"), "{}", told.out);
    for (line, words) in [
        (format!("{of} 3:39"), "write it as 3=39.00"),
        (
            "order --from quayhead --part WLa20-2.4 --pack-of 7 --break 3=1.00".to_owned(),
            "offers no such pack",
        ),
    ] {
        let told = computer.run(&line).await;
        assert_eq!(told.code, 64, "{line}: {told:?}");
        assert!(told.err.contains(words), "{line}: {}", told.err);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_below_the_minimum_is_placed_when_that_is_agreed() {
    let server = furnished().await;
    let computer = Computer::of(&server);
    let found = server.owner.get_supplier("quayhead").await;
    let found = found.expect("a supplier");
    let version = found.version;
    computer.run("order R-118 --draft").await;
    let dear = NewSupplier {
        minimum_minor: 10_000,
        ..found.into_new()
    };
    let changed = server.owner.replace_supplier("quayhead", &dear, version);
    changed.await.expect("it is changed");
    let told = computer.run("order --place 1").await;
    assert_eq!(told.code, 65, "{told:?}");
    assert!(told.err.contains("100.00 CAD"), "{}", told.err);
    let told = computer.run("order --place 1 --below-minimum").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(told.out.contains("placed"), "{}", told.out);
}
