//! Scenarios X3 and S4 on the command line: stubs go into the jar, and complete the kit with the short
//! back cap; parts are tried, fitted and lent; kits are counted.

use tigstock_tests::TestServer;
use tigstock_tests::front_ends::{LENS, STANDARD};
use types::{KitLine, NewKit, NewSite};

use crate::computer::Computer;

const LIVE: &str = "Power source off and output dead before changing parts; do not run without \
    insulator or back cap.\nFollow your site rules, the safety data sheet and the law where you \
    work; ask a qualified person.\n";

/// The standard set-up, its electrode first, with the short back cap.
const SHORT: [&str; 7] = [
    "WLa20-2.4",
    "o-ring-large",
    "cap-short",
    "collet-2.4",
    "body-2.4",
    "insulator-std",
    "cup-7",
];

/// A shop whose collets still grip 35 mm, with ten rods of 150 mm, two short back caps, and three of all
/// else; in T1 a gas lens is fitted.
async fn shop() -> (TestServer, Computer) {
    let server = TestServer::at("2026-06-15T07:00:00-03:00").await;
    server
        .shelve(&[
            ("WLa20-2.4", 10),
            ("cap-short", 2),
            ("o-ring-large", 3),
            ("collet-2.4", 3),
            ("body-2.4", 3),
            ("insulator-std", 3),
            ("cup-7", 3),
            ("cap-long", 0),
            ("lens-2.4", 0),
            ("insulator-lens", 0),
            ("cup-7-lens", 0),
            ("cup-8-lens", 3),
        ])
        .await;
    server.torch("T1", &LENS).await;
    server.torch("T4", &STANDARD).await;
    let line = |part: &&str| KitLine {
        part: (*part).to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let kit = NewKit {
        code: "K-short".to_owned(),
        name: None,
        parts: SHORT.iter().map(line).collect(),
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
    No stub of 35 mm to 50 mm is in the jar, and a full rod does not go under the short back cap.
    Next: cut 1 rod of WLa20-2.4 to 50 mm or less; 10 available.
    Seats as they usually are: check against your torch maker's parts list, and mark them checked.
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
    Seats as they usually are: check against your torch maker's parts list, and mark them checked.
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
    let lines: Vec<&str> = told.out.lines().collect();
    assert_eq!(
        lines[..3],
        [
            "torch,kit,state,part,name,quantity,available,missing,stubs,held_because,as_of",
            "T1,K-short,incomplete,WLa20-2.4,\"Electrode WLa20 2.4 mm, 150 mm long\",1,0,1,0,,\
             2026-06-15T11:00:00+00:00",
            "T1,K-short,incomplete,o-ring-large,\"O-ring, back cap, large body\",1,3,0,,,\
             2026-06-15T11:00:00+00:00",
        ]
    );
    assert_eq!(lines.len(), 8);
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

#[tokio::test(flavor = "multi_thread")]
async fn a_part_is_tried_fitted_borrowed_and_put_back() {
    let (server, computer) = shop().await;
    let told = computer.run("fit T1 cup-7 --try").await;
    assert_eq!(told.code, 2, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    Does not fit: cup no. 7 (3 in stock) has the standard seat; the gas lens needs the gas-lens seat. Same number, same orifice (7/16 in, about 11 mm), different thread and bore.
    Fits now in its place: cup no. 8, gas-lens seat (3).
    Or: collet body 2.4 mm, large body (3) with standard insulator, large body (3), and keep cup no. 7, standard seat.
    Seats as they usually are: check against your torch maker's parts list, and mark them checked.
    ");
    let told = computer.run("fit T1 cup-7").await;
    assert_eq!((told.code, &*told.out), (65, ""), "{told:?}");
    assert!(
        told.err.contains("the gas lens needs the gas-lens seat"),
        "{told:?}"
    );
    let told = computer.run("fit T1 body-2.4 insulator-std cup-7").await;
    assert_eq!(told.code, 0, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    Fitted: T1 is complete.
    Came off: lens-2.4, insulator-lens, cup-7-lens.
    Seats as they usually are: check against your torch maker's parts list, and mark them checked.
    ");
    // A new one of what is fitted, by its kind.
    let told = computer.run("fit T1 o-ring").await;
    assert!(
        told.out.starts_with("Fitted: T1 is complete.\nSeats as"),
        "{told:?}"
    );
    let told = computer.run("fit T1 cup-7 --from T4").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        server.owner.get_torch("T4").await.expect("a torch").lent,
        ["cup-7"]
    );
    let told = computer.run("fit T4 cup-7 --from T1").await;
    assert_eq!(told.code, 0, "{told:?}");
    assert_eq!(
        server.owner.get_torch("T4").await.expect("a torch").lent,
        [""; 0]
    );
    let told = computer.run("fit T1 cup-7 --try --format csv").await;
    assert_eq!(
        told.out,
        "torch,state,row,joint,parts,available,says,as_of\r\n"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn complete_kits_are_counted() {
    let (_server, computer) = shop().await;
    let told = computer.run("kit --count K-short=2").await;
    assert_eq!(told.code, 1, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    At most 0 in all: 0 kits K-short.
    Filled in the order given: 0 kits K-short.
    All that are wanted would take 2 WLa20-2.4 more.
    One more piece gives another kit: WLa20-2.4.
    ");
    computer
        .run("stub --add WLa20 --diameter 2.4mm --length 48mm --quantity 3")
        .await;
    let told = computer.run("kit --count K-short=2").await;
    assert_eq!(told.code, 0, "{told:?}");
    let told = computer.run("kit --count K-short=two").await;
    assert_eq!(told.code, 64, "{told:?}");
    let told = computer.run("kit T1").await;
    assert_eq!(told.code, 64, "{told:?}");
}
