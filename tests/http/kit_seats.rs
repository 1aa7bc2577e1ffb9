//! Scenario S3: a kit complete but for an O-ring, and one complete but for an insulator; slots with
//! alternatives, and kits whose parts do not go together.

use tigstock_tests::TestServer;
use tigstock_tests::front_ends::STANDARD;
use types::{
    GetKitCount, KitCheck, KitLine, NewDrawer, NewKit, NewOffer, NewReceipt, NewSite, NewSupplier,
    NewTorch, NewUsage, ProblemKind,
};

use crate::site_rules::{of_class, school};

fn line(part: &str, or: &[&str]) -> KitLine {
    KitLine {
        part: part.to_owned(),
        quantity: 1,
        or: or.iter().map(|part| (*part).to_owned()).collect(),
    }
}

async fn kit(server: &TestServer, code: &str, parts: Vec<KitLine>) {
    let kit = NewKit {
        code: code.to_owned(),
        name: None,
        parts,
    };
    server.owner.create_kit(&kit).await.expect("a kit");
}

fn plain(parts: &[&str]) -> Vec<KitLine> {
    parts.iter().map(|part| line(part, &[])).collect()
}

pub(crate) async fn check(server: &TestServer, kit: &str) -> KitCheck {
    server.owner.check_kit("T1", kit).await.expect("it is told")
}

/// The drawers of scenario S3: everything for K-24L but an O-ring, which is fitted in T4 too. Quayhead
/// sells O-rings by the ten, and has them the next day.
pub(crate) async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.zone("America/Halifax").await;
    server
        .shelve(&[
            ("WLa20-2.4", 3),
            ("collet-2.4", 2),
            ("body-2.4", 2),
            ("cup-7", 5),
            ("cap-long", 2),
            ("o-ring-large", 0),
            ("insulator-std", 1),
            ("lens-2.4", 1),
            ("lens-2.4-large", 1),
            ("insulator-lens", 0),
            ("insulator-large-lens", 0),
            ("cup-8-lens", 3),
        ])
        .await;
    for torch in ["T1", "T3", "T4"] {
        server.torch(torch, &STANDARD).await;
    }
    let drawer = NewDrawer {
        code: "14".to_owned(),
        name: None,
        site: None,
        parts: vec!["o-ring-large".to_owned()],
    };
    server.owner.create_drawer(&drawer).await.expect("a drawer");
    let quayhead = NewSupplier {
        code: "quayhead".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 1,
        ..NewSupplier::default()
    };
    server
        .owner
        .create_supplier(&quayhead)
        .await
        .expect("a supplier");
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "o-ring-large".to_owned(),
        pack_size: 10,
        price_minor: 600,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    kit(&server, "K-24L", plain(&STANDARD)).await;
    // T3 is in use; T4 has been idle for weeks.
    for (torch, at) in [
        ("T3", "2026-06-14T16:00:00-03:00"),
        ("T4", "2026-05-29T16:00:00-03:00"),
    ] {
        let used = NewUsage {
            torch: Some(torch.to_owned()),
            arc_minutes: Some(30),
            at: Some(at.parse().expect("an instant")),
            ..NewUsage::default()
        };
        server
            .owner
            .record_usage(&used, torch)
            .await
            .expect("it is logged");
    }
    server.set_clock("2026-06-15T08:30:00-03:00");
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_complete_but_for_an_o_ring_names_it_the_drawer_the_lender_and_the_order() {
    let server = shop().await;
    let told = check(&server, "K-24L").await;
    assert_eq!((&*told.state, told.count), ("incomplete", 0));
    assert_eq!(told.limited_by.as_deref(), Some("o-ring-large"));
    assert_eq!(
        told.says,
        [
            "Incomplete: 1 part missing. O-ring, back cap, large body.",
            "Do not weld without it: air is drawn in at the cap.",
            "o-ring-large: 0 in drawer 14 at Shop, 1 more needed.",
            "One is fitted in the idle torch T4 (not used since 29 May): borrow it, and the put-back is \
             noted.",
            "Next: quayhead, 1 pack of 10, arrives Tue 16 Jun."
        ]
    );
    let ring = told
        .lines
        .iter()
        .find(|line| line.part == "o-ring-large")
        .expect("a line");
    assert_eq!(ring.borrow_from, ["T4"]);
    let next = ring.next.as_ref().expect("a purchase");
    assert_eq!((next.pack_size, next.packs, next.cost_minor), (10, 1, 600));
    assert!(told.cautions[0].starts_with("Power source off"));
}

/// O-rings came in.
async fn rings(server: &TestServer) {
    let receipt = NewReceipt {
        part: "o-ring-large".to_owned(),
        quantity: 10,
        ..NewReceipt::default()
    };
    server
        .owner
        .record_receipt(&receipt, "rings")
        .await
        .expect("it is received");
}

/// The standard set-up with a lens, an insulator and a cup in the place of its own.
fn with(lens: &'static str, insulator: &'static str, cup: &'static str) -> Vec<KitLine> {
    let changed = |part: &&'static str| match *part {
        "body-2.4" => lens,
        "insulator-std" => insulator,
        "cup-7" => cup,
        other => other,
    };
    plain(&STANDARD.iter().map(changed).collect::<Vec<_>>())
}

/// The standard set-up with another electrode.
fn with_electrode(electrode: &'static str) -> Vec<KitLine> {
    let changed = |part: &&'static str| match *part {
        "WLa20-2.4" => electrode,
        other => other,
    };
    plain(&STANDARD.iter().map(changed).collect::<Vec<_>>())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_gas_lens_asks_for_an_insulator_of_its_own() {
    let server = shop().await;
    rings(&server).await;
    kit(
        &server,
        "K-24G",
        with("lens-2.4", "insulator-lens", "cup-8-lens"),
    )
    .await;
    let told = check(&server, "K-24G").await;
    assert_eq!(
        (&*told.state, told.limited_by.as_deref()),
        ("incomplete", Some("insulator-lens"))
    );
    assert_eq!(
        told.says[0],
        "Incomplete: 1 part missing. Insulator for gas lens, large body."
    );
    assert!(
        told.says.contains(
            &"The standard insulator, large body (1 in stock) does not seat on the gas lens."
                .to_owned()
        ),
        "{:?}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_insulator_of_another_arrangement_is_told_by_its_seat() {
    let server = shop().await;
    kit(
        &server,
        "K-wrong",
        with("lens-2.4", "insulator-std", "cup-8-lens"),
    )
    .await;
    let told = check(&server, "K-wrong").await;
    assert_eq!((&*told.state, told.count), ("does not fit", 0));
    assert_eq!(
        told.says[0],
        "Does not fit: standard insulator, large body (1 in stock) has the standard seat; the gas lens \
         needs the gas-lens seat."
    );
    assert!(
        told.cautions
            .iter()
            .any(|caution| caution.starts_with("Do not force it."))
    );
    // The large lens asks for a third.
    for insulator in ["insulator-std", "insulator-lens"] {
        let code = format!("K-{insulator}");
        kit(
            &server,
            &code,
            with("lens-2.4-large", insulator, "cup-8-lens"),
        )
        .await;
        let told = check(&server, &code).await;
        let seats: Vec<&str> = told
            .faults
            .iter()
            .filter_map(|fault| fault.offered.as_deref())
            .collect();
        assert!(
            seats.contains(&"insulator: large large-gas-lens"),
            "{seats:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_that_leaves_a_seat_open_is_not_called_complete() {
    let server = shop().await;
    kit(&server, "K-open", plain(&STANDARD[2..])).await;
    let told = check(&server, "K-open").await;
    assert_eq!((&*told.state, told.count), ("incomplete", 0));
    assert_eq!(told.says[0], "Incomplete: the kit leaves 1 seat open.");
    assert!(
        told.says[1].starts_with("The back cap is missing;"),
        "{:?}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slot_is_filled_by_what_goes_together_with_the_rest() {
    let server = shop().await;
    rings(&server).await;
    // A no. 8 of the lens series is listed, but does not go onto the body.
    let slots = STANDARD.iter().map(|part| match *part {
        "cup-7" => line("cup-8-lens", &["cup-7"]),
        "body-2.4" => line("body-2.4", &["lens-2.4"]),
        "insulator-std" => line("insulator-std", &["insulator-lens"]),
        part => line(part, &[]),
    });
    kit(&server, "K-any", slots.collect()).await;
    let told = check(&server, "K-any").await;
    // One insulator for the body and none for the lens: one kit, though there are eight cups.
    assert_eq!(
        (&*told.state, told.count),
        ("complete", 1),
        "{:?}",
        told.says
    );
    let bad = [
        (
            line("cup-7", &["Cup-7"]),
            "/parts/0/or/0",
            "its own alternative",
        ),
        (
            line("cup-7", &["cup-8-lens", "cup-8-lens"]),
            "/parts/0/or/1",
            "listed twice",
        ),
        (line("", &[]), "/parts/0/part", "is empty"),
        (
            line("cup-7", &["cup-9"]),
            "/parts/0/or/0",
            "there is no part cup-9",
        ),
    ];
    for (slot, pointer, words) in bad {
        let new = NewKit {
            code: "K-bad".to_owned(),
            name: None,
            parts: vec![slot],
        };
        let refused = server.owner.create_kit(&new).await.unwrap_err();
        assert!(refused.is(ProblemKind::Invalid), "{refused:?}");
        let violation = &refused.problem().expect("a problem").violations[0];
        assert_eq!(violation.pointer, pointer);
        assert!(violation.detail.contains(words), "{violation:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_large_body_kit_does_not_fit_a_small_torch() {
    let server = shop().await;
    let small = NewTorch {
        family: "small".to_owned(),
        ..tigstock_tests::builders::torch("T2")
    };
    server.owner.create_torch(&small).await.expect("a torch");
    let told = server
        .owner
        .check_kit("T2", "K-24L")
        .await
        .expect("it is told");
    assert_eq!(told.state, "does not fit");
    let on_head = told
        .faults
        .iter()
        .filter(|fault| fault.on.is_none())
        .count();
    assert_eq!(on_head, 2, "the back cap and the body: {:?}", told.faults);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_barred_alternative_is_neither_offered_nor_lent_nor_bought() {
    let server = shop().await;
    rings(&server).await;
    server.stocked(of_class("WTh20-2.4", "WTh20"), 9).await;
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "WTh20-2.4".to_owned(),
        pack_size: 10,
        price_minor: 3_000,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    // The thoriated one is the first choice, and the site bars it; of the other none is left.
    let slots = STANDARD.iter().map(|part| match *part {
        "WLa20-2.4" => line("WTh20-2.4", &["WLa20-2.4"]),
        part => line(part, &[]),
    });
    kit(&server, "K-either", slots.collect()).await;
    kit(&server, "K-barred", with_electrode("WTh20-2.4")).await;
    assert_eq!(check(&server, "K-either").await.lines[2].part, "WTh20-2.4");
    let site = server.owner.get_site("shop").await.unwrap();
    let barred = NewSite {
        barred: school().barred,
        ..site.clone().into_new()
    };
    server
        .owner
        .replace_site("shop", &barred, site.version)
        .await
        .unwrap();
    let told = check(&server, "K-either").await;
    assert_eq!(
        (&*told.state, &*told.lines[2].part),
        ("complete", "WLa20-2.4")
    );
    assert_eq!(told.lines[2].or, []);
    for number in 0..3 {
        server.take("WLa20-2.4", &format!("take-{number}")).await;
    }
    let told = check(&server, "K-either").await;
    assert_eq!(
        (&*told.state, told.limited_by.as_deref()),
        ("incomplete", Some("WLa20-2.4"))
    );
    assert!(
        !told.says.iter().any(|says| says.contains("WTh20")),
        "{:?}",
        told.says
    );
    let counted = server
        .owner
        .count_kit("K-either", &GetKitCount::default())
        .await
        .unwrap();
    assert_eq!(counted.next_kit_wants[0].part, "WLa20-2.4");
    assert!(
        !counted.one_more.iter().any(|gain| gain.part == "WTh20-2.4"),
        "{counted:?}"
    );
    // Of a kit that holds nothing else, no count is made.
    let refused = server
        .owner
        .count_kit("K-barred", &GetKitCount::default())
        .await
        .unwrap_err();
    assert!(refused.is(ProblemKind::WrongState), "{refused:?}");
    assert!(
        refused.to_string().contains("not permitted at Shop"),
        "{refused}"
    );
}
