//! Scenario X3 on the command line: stubs go into the jar, and complete the kit with the short back
//! cap.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{KitLine, NewKit, NewPart, NewSite};

use crate::computer::Computer;

const LIVE: &str = "Power source off and output dead before changing parts; do not run without \
    insulator or back cap.\nFollow your site rules, the safety data sheet and the law where you \
    work; ask a qualified person.\n";

/// A shop whose collets still grip 35 mm, with ten rods of 150 mm and two short back caps.
async fn shop() -> (TestServer, Computer) {
    let server = TestServer::at("2026-06-15T07:00:00-03:00").await;
    let rod = NewPart {
        length: Some("150 mm".to_owned()),
        ..electrode("WLa20-2.4", "2.4 mm")
    };
    server.stocked(rod, 10).await;
    let cap = NewPart {
        code: "cap-short".to_owned(),
        kind: "back-cap".to_owned(),
        length: Some("short".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    };
    server.stocked(cap, 2).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    let line = |part: &str| KitLine {
        part: part.to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let kit = NewKit {
        code: "K-short".to_owned(),
        name: None,
        parts: vec![line("WLa20-2.4"), line("cap-short")],
    };
    server.owner.create_kit(&kit).await.expect("a kit");
    let site = server.owner.get_site("shop").await.expect("a site");
    let new = NewSite {
        discard_length: Some("35 mm".to_owned()),
        ..site.clone().into_new()
    };
    let site = server.owner.replace_site("shop", &new, site.version).await;
    site.expect("a discard length");
    server.set_clock("2026-06-15T08:00:00-03:00");
    let computer = Computer::of(&server);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_that_wants_a_short_rod_ends_with_2_and_says_what_to_cut() {
    let (_server, computer) = shop().await;
    let told = computer.run("kit T1 K-short").await;
    assert_eq!((told.code, &*told.err), (2, LIVE));
    insta::assert_snapshot!(told.out, @r"
    Incomplete: 1 part missing. Electrode WLa20 2.4 mm, 150 mm long.
    No stub of 35 mm to 50 mm fits under the short back cap; a full rod does not.
    Next: cut 1 rod of WLa20-2.4 to 50 mm or less; 10 available.
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn three_stubs_complete_the_kit_and_are_to_be_used_first() {
    let (server, computer) = shop().await;
    for (line, says) in [
        (
            "stub T1 --length 48mm",
            "T1: 1 stub of WLa20 2.4 mm, 48 mm, into the jar. 1 of them in the jar.\n",
        ),
        (
            "stub T1 --length 48mm",
            "T1: 1 stub of WLa20 2.4 mm, 48 mm, into the jar. 2 of them in the jar.\n",
        ),
        (
            "stub T1 --length 46mm --lot L-2231",
            "T1: 1 stub of WLa20 2.4 mm, 46 mm, lot L-2231, into the jar. 1 of them in the jar.\n",
        ),
    ] {
        let told = computer.run(line).await;
        assert_eq!((told.code, &*told.out), (0, says), "{line}: {}", told.err);
    }
    // Not one full rod left the drawer for it.
    assert_eq!(server.on_hand("WLa20-2.4").await, 10);
    let told = computer.run("kit T1 K-short").await;
    assert_eq!((told.code, &*told.err), (0, LIVE));
    insta::assert_snapshot!(told.out, @r"
    Complete: 2 kits. Limited by: Back cap, short, large body.
    3 stubs fit; use them before cutting a new one.
    ");
    let told = computer.run("stub").await;
    insta::assert_snapshot!(told.out, @r"
    Class  Diameter  Length  Lot     Stubs  Available  Held because
    ----------------------------------------------------------------
    WLa20  2.4 mm    46 mm   L-2231      1          1  -
    WLa20  2.4 mm    48 mm   -           2          2  -
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_is_told_as_csv_and_json() {
    let (_server, computer) = shop().await;
    let told = computer.run("kit T1 K-short --format csv").await;
    assert_eq!(told.code, 2, "{told:?}");
    assert_eq!(
        told.out,
        "torch,kit,state,part,name,quantity,available,missing,stubs,held_because,as_of\r\n\
         T1,K-short,incomplete,WLa20-2.4,\"Electrode WLa20 2.4 mm, 150 mm long\",1,0,1,0,,\
         2026-06-15T11:00:00+00:00\r\n\
         T1,K-short,incomplete,cap-short,\"Back cap, short, large body\",1,2,0,,,\
         2026-06-15T11:00:00+00:00\r\n"
    );
    let told = computer.run("kit T1 K-short --format json").await;
    let checked: types::KitCheck = serde_json::from_str(&told.out).expect("it is JSON");
    assert_eq!((&*checked.state, checked.count), ("incomplete", 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn stubs_are_taken_and_scrapped_by_their_class_and_diameter() {
    let (_server, computer) = shop().await;
    computer
        .run("stub --add WLa20 --diameter 2.4mm --length 48mm --quantity 3")
        .await;
    let told = computer.run("stub --take WLa20 --diameter 3/32in").await;
    assert_eq!(
        told.out,
        "1 stub of WLa20 2.4 mm, 48 mm, taken from the jar. 2 of them in the jar.\n"
    );
    let told = computer
        .run("stub --scrap WLa20 --diameter 2.4mm --quantity 9")
        .await;
    assert_eq!((told.code, &*told.out), (65, ""));
    assert!(told.err.contains("2 in the jar"), "{told:?}");
    let told = computer.run("stub --add WLa20").await;
    assert_eq!(told.code, 64, "{told:?}");
    let told = computer.run("stub T1 --diameter 2.4mm").await;
    assert_eq!(told.code, 64, "{told:?}");
}
