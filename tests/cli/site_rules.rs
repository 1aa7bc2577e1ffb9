//! Scenario S2 on the command line: a school that bars thoriated electrodes.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{electrode, torch};
use types::{NewPart, NewReceipt, NewSetUp, NewSite};

use crate::computer::Computer;

const CAUTION: &str = "Thoriated: slightly radioactive; the concern is grinding dust. Thorium-free \
    classes are usually preferred where the procedure allows. Extraction, no dry sweeping, dispose \
    as your authority requires.\nFollow your site rules, the safety data sheet and the law where \
    you work; ask a qualified person.\n";

/// The home shop with 7 thoriated electrodes, and the school with 14 lanthanated ones and a torch.
async fn both() -> (TestServer, Computer) {
    let server = TestServer::at("2026-06-15T07:00:00-03:00").await;
    let thoriated = NewPart {
        class: Some("WTh20".to_owned()),
        ..electrode("WTh20-2.4", "2.4 mm")
    };
    server.stocked(thoriated, 7).await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    for (code, name, barred) in [
        ("tarnbridge", "Tarnbridge", vec!["thoriated".to_owned()]),
        ("yard", "Yard", Vec::new()),
    ] {
        let site = NewSite {
            code: code.to_owned(),
            name: Some(name.to_owned()),
            zone: "America/Halifax".to_owned(),
            barred,
            responsible: Some("instructor".to_owned()),
            discard_length: None,
            ..NewSite::default()
        };
        server.owner.create_site(&site).await.expect("a site");
    }
    let receipt = NewReceipt {
        part: "WLa20-2.4".to_owned(),
        quantity: 14,
        site: Some("tarnbridge".to_owned()),
        ..NewReceipt::default()
    };
    let received = server.owner.record_receipt(&receipt, "first").await;
    received.expect("it is recorded");
    let mut station = torch("station-3");
    station.site = Some("tarnbridge".to_owned());
    let made = server.owner.create_torch(&station).await.expect("a torch");
    let fitted = NewSetUp {
        parts: vec!["WLa20-2.4".to_owned()],
    };
    let fitted = server
        .owner
        .replace_set_up("station-3", &fitted, made.version)
        .await;
    fitted.expect("a set-up");
    server.set_clock("2026-06-15T08:00:00-03:00");
    let computer = Computer::of(&server);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_barred_class_is_received_on_hold_and_the_stock_says_why() {
    let (_server, computer) = both().await;
    let told = computer.run("receive WTh20-2.4 10 --site tarnbridge").await;
    assert_eq!((told.code, &*told.err), (0, CAUTION));
    assert_eq!(
        told.out,
        "10 WTh20-2.4 held: not permitted at Tarnbridge. Return to supplier or move to a site that \
         permits it. Use instead: WLa20-2.4, 14 available.\n"
    );
    let told = computer.run("stock WTh20-2.4 --site tarnbridge").await;
    assert!(
        told.out
            .ends_with("WTh20-2.4: 10 held: not permitted at Tarnbridge.\n"),
        "{told:?}"
    );
    let told = computer
        .run("stock WTh20-2.4 --site tarnbridge --format csv")
        .await;
    let end = ",not permitted here,not permitted at Tarnbridge\r\n";
    assert!(told.out.ends_with(end), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transfer_to_the_school_is_refused_and_one_to_the_yard_goes_and_comes_back() {
    let (server, computer) = both().await;
    let told = computer
        .run("transfer WTh20-2.4 5 --from shop --to tarnbridge")
        .await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert_eq!(
        told.err,
        "tigstock: The request breaks a rule\n  to: WTh20-2.4 is not permitted at Tarnbridge, whose \
         rule bars thoriated; nothing was moved; choose a site that permits it\n"
    );
    assert_eq!(server.on_hand("WTh20-2.4").await, 7);
    let told = computer.run("transfer WTh20-2.4 5 --to yard").await;
    assert_eq!((told.code, &*told.err), (0, CAUTION));
    assert_eq!(
        told.out,
        "Moved 5 WTh20-2.4 from shop to yard. WTh20-2.4: 2 left at shop, 5 at yard.\n"
    );
    let told = computer.run("undo").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(server.on_hand("WTh20-2.4").await, 7);
    let told = computer
        .run("transfer WTh20-2.4 5 --to yard --job R-1")
        .await;
    assert_eq!(told.code, 64, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn barred_goods_go_back_to_the_supplier() {
    let (_server, computer) = both().await;
    computer.run("receive WTh20-2.4 10 --site tarnbridge").await;
    let told = computer
        .run("return WTh20-2.4 10 --to-supplier --site tarnbridge")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        told.out,
        "Returned to supplier: 10 WTh20-2.4. WTh20-2.4: 0 left.\n"
    );
    let told = computer.run("return T1 electrode --to-supplier").await;
    assert_eq!(told.code, 64, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn six_unidentified_stubs_are_in_the_jar_of_the_school_and_held() {
    let (_server, computer) = both().await;
    let told = computer
        .run("stub --add unidentified --diameter 2.4mm --quantity 6 --site tarnbridge")
        .await;
    assert_eq!(
        told.out,
        "6 stubs of unidentified 2.4 mm, into the jar. 6 of them in the jar. Held: of unknown class, \
         not permitted at Tarnbridge.\n"
    );
    assert!(
        told.err
            .starts_with("Class unknown: treat as possibly thoriated.\n"),
        "{told:?}"
    );
    let told = computer.run("stub --site tarnbridge").await;
    assert_eq!(told.code, 0, "{told:?}");
    let lines: Vec<&str> = told.out.lines().map(str::trim_end).collect();
    // Between the two there is a rule.
    assert_eq!(
        [lines[0], lines[2]],
        [
            "Class         Diameter  Length  Lot  Stubs  Available  Held because",
            "unidentified  2.4 mm    -       -        6          0  of unknown class, not permitted at Tarnbridge",
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn pieces_are_set_aside_freed_and_thrown_away() {
    let (server, computer) = both().await;
    for (line, says) in [
        (
            "hold WTh20-2.4 3 --by owner",
            "Put on hold 3 WTh20-2.4. WTh20-2.4: 7 left. 4 available.\n",
        ),
        (
            "release WTh20-2.4 2",
            "Released 2 WTh20-2.4. WTh20-2.4: 7 left. 6 available.\n",
        ),
        (
            "scrap WTh20-2.4",
            "Scrapped 1 WTh20-2.4. WTh20-2.4: 6 left.\n",
        ),
    ] {
        let told = computer.run(line).await;
        assert_eq!((told.code, &*told.out), (0, says), "{line}: {}", told.err);
    }
    let told = computer.run("release WTh20-2.4 2").await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert!(told.err.contains("1 on hold"), "{told:?}");
    let stock = server.stock("WTh20-2.4").await;
    assert_eq!((stock.on_hand, stock.available), (6, 5));
}
