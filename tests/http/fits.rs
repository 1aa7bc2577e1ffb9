//! Scenario S4: the same cup number of the wrong series, and the other misfits that are told by their
//! seats; parts that are fitted, lent and put back; seats that the shop corrects.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{electrode, torch};
use tigstock_tests::front_ends::{LENS, STANDARD};
use types::{
    FitCheck, FitQuery, ListBorrowings, NewFit, NewPartSeats, NewStub, NewTorch, Page, ProblemKind,
    TryFit,
};

const TRY: FitQuery = FitQuery { try_only: Some(1) };
const DO: FitQuery = FitQuery { try_only: None };

fn parts(codes: &[&str]) -> NewFit {
    NewFit {
        parts: codes.iter().map(|code| (*code).to_owned()).collect(),
        ..NewFit::default()
    }
}

async fn try_on(server: &TestServer, codes: &[&str]) -> FitCheck {
    let told = server.owner.create_fit("T1", &parts(codes), &TRY).await;
    told.expect("it is told")
}

/// The torch of scenario S4, with a gas lens, and what is in the drawers.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server
        .shelve(&[
            ("cap-long", 2),
            ("o-ring-large", 2),
            ("WLa20-2.4", 3),
            ("collet-2.4", 2),
            ("body-2.4", 2),
            ("lens-2.4", 1),
            ("insulator-std", 1),
            ("insulator-lens", 1),
            ("cup-7", 6),
            ("cup-7-lens", 0),
            ("cup-8-lens", 3),
        ])
        .await;
    server.torch("T1", &LENS).await;
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_number_of_another_series_does_not_fit_and_both_ways_out_are_told() {
    let server = shop().await;
    let told = try_on(&server, &["cup-7"]).await;
    assert_eq!((&*told.state, told.fitted), ("does not fit", false));
    assert_eq!(told.faults.len(), 1);
    let fault = &told.faults[0];
    assert_eq!(fault.what, "mismatch");
    assert_eq!(fault.parts, ["cup-7"]);
    assert_eq!(fault.on.as_deref(), Some("lens-2.4"));
    assert_eq!(fault.takes.as_deref(), Some("cup: large standard"));
    assert_eq!(fault.offered.as_deref(), Some("cup: large gas-lens"));
    assert_eq!(
        told.says,
        [
            "Does not fit: cup no. 7 (6 in stock) has the standard seat; the gas lens \
             needs the gas-lens seat. Same number, same orifice (7/16 in, about 11 mm), different \
             thread and bore.",
            "Fits now: cup no. 8, gas-lens seat (3).",
            "Or: collet body 2.4 mm, large body (2) with standard insulator, large body (1), and keep \
             cup no. 7, standard seat."
        ]
    );
    // Both cups of the seat are listed, also the one that is out.
    let cups: Vec<_> = told.ways[0].choices[0]
        .parts
        .iter()
        .map(|p| (&*p.part, p.available))
        .collect();
    assert_eq!(cups, [("cup-7-lens", 0), ("cup-8-lens", 3)]);
    assert_eq!(told.ways[0].remove, ["cup-7"]);
    assert_eq!(told.ways[1].remove, ["lens-2.4", "insulator-lens"]);
    assert!(
        told.cautions[0].starts_with("Power source off"),
        "{:?}",
        told.cautions
    );
    assert!(
        told.cautions
            .iter()
            .any(|caution| caution.starts_with("Do not force it."))
    );
    assert_eq!(told.assumes.len(), 1);
    // A trial changes nothing.
    let torch = server.owner.get_torch("T1").await.unwrap();
    assert_eq!(torch.fitted, LENS);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_short_collet_on_a_long_body_does_not_fit() {
    let server = shop().await;
    server.shelve(&[("collet-2.4-short", 4)]).await;
    let told = try_on(&server, &["collet-2.4-short"]).await;
    assert_eq!(told.state, "does not fit");
    assert!(
        told.says[0].contains("has the short seat; the gas lens needs the standard seat."),
        "{:?}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn two_and_a_half_is_not_two_point_four() {
    let server = shop().await;
    server.stocked(electrode("WLa20-2.5", "2.5 mm"), 6).await;
    let told = try_on(&server, &["WLa20-2.5"]).await;
    assert_eq!(
        told.says[0],
        "Does not fit: electrode WLa20 2.5 mm (6 in stock) is 2.5 mm; the collet takes 2.4 mm: 2.5 is \
         not 2.4."
    );
    // There is no collet for it, and that is what would bridge it.
    assert!(
        !told
            .ways
            .iter()
            .any(|way| way.in_stock && way.keep.contains(&"WLa20-2.5".to_owned()))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_full_rod_under_the_short_cap_must_be_cut() {
    let server = shop().await;
    server.shelve(&[("cap-short", 1)]).await;
    let told = try_on(&server, &["cap-short"]).await;
    assert_eq!(told.state, "does not fit");
    assert_eq!(told.faults[0].what, "too long");
    let says = "Electrode WLa20 2.4 mm, 150 mm long does not go under this back cap: the electrode must \
                be cut to 50 mm or less for this cap.";
    assert_eq!(told.faults[0].says, says);
    for length in ["46mm", "48mm", "50mm", "60mm"] {
        let stub = NewStub {
            class: "WLa20".to_owned(),
            diameter: "2.4 mm".to_owned(),
            length: Some(length.to_owned()),
            ..NewStub::default()
        };
        server
            .owner
            .record_stubs(&stub, length)
            .await
            .expect("it is in the jar");
    }
    let told = try_on(&server, &["cap-short"]).await;
    assert_eq!(
        told.faults[0].says,
        format!("{says} 3 stubs of 46-50 mm are in the stub jar.")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_fits_is_fitted_and_what_does_not_is_refused() {
    let server = shop().await;
    let refused = server
        .owner
        .create_fit("T1", &parts(&["cup-7"]), &DO)
        .await
        .unwrap_err();
    assert!(refused.is(ProblemKind::Invalid), "{refused:?}");
    let problem = refused.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/parts/0");
    assert!(
        problem.violations[0]
            .detail
            .contains("the gas lens needs the gas-lens seat")
    );
    let back = parts(&["body-2.4", "insulator-std", "cup-7"]);
    let told = server
        .owner
        .create_fit("T1", &back, &DO)
        .await
        .expect("it is fitted");
    assert!(told.fitted);
    assert_eq!(
        (&*told.state, &told.parts[..]),
        ("complete", &STANDARD.map(str::to_owned)[..])
    );
    assert_eq!(told.says, ["Fitted: T1 is complete."]);
    assert_eq!(server.owner.get_torch("T1").await.unwrap().fitted, STANDARD);
    // Fitting takes nothing from the drawers.
    assert_eq!(server.on_hand("cup-7").await, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_whole_set_up_that_does_not_go_together_is_refused_too() {
    let server = shop().await;
    let torch = server.owner.get_torch("T1").await.unwrap();
    let new = types::NewSetUp {
        parts: vec!["lens-2.4".to_owned(), "cup-7".to_owned()],
    };
    let refused = server
        .owner
        .replace_set_up("T1", &new, torch.version)
        .await
        .unwrap_err();
    let problem = refused.problem().expect("a problem");
    assert_eq!(problem.violations[0].pointer, "/parts/1");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_twice_no_part_and_an_unknown_part_are_refused_by_name() {
    let server = shop().await;
    for (codes, pointer, words) in [
        (&["cup-7", "Cup-7"][..], "/parts/1", "fitted twice"),
        (&[][..], "/parts", "is empty"),
        (&["cup-9"][..], "/parts/0", "there is no part cup-9"),
    ] {
        let refused = server
            .owner
            .create_fit("T1", &parts(codes), &TRY)
            .await
            .unwrap_err();
        let problem = refused.problem().expect("a problem");
        assert_eq!(problem.violations[0].pointer, pointer);
        assert!(problem.violations[0].detail.contains(words), "{problem:?}");
    }
    let told = try_on(&server, &["cup-7", "cup-8-lens"]).await;
    assert!(
        told.faults.iter().any(|fault| fault.what == "crowded"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_borrowed_part_leaves_its_torch_incomplete_until_it_is_put_back() {
    let server = shop().await;
    server.torch("T4", &STANDARD).await;
    let new = NewTorch {
        family: "small".to_owned(),
        ..torch("T2")
    };
    server.owner.create_torch(&new).await.unwrap();
    let lend = |part: &str, from: &str| NewFit {
        from: Some(from.to_owned()),
        ..parts(&[part])
    };
    let out = ListBorrowings {
        open: Some(true),
        ..ListBorrowings::default()
    };
    server
        .owner
        .create_fit("T1", &lend("o-ring-large", "T4"), &DO)
        .await
        .expect("it is lent");
    let lender = server.owner.get_torch("T4").await.unwrap();
    assert_eq!(lender.lent, ["o-ring-large"]);
    assert_eq!(lender.fitted.len(), 6);
    let open = server.owner.list_borrowings(&out).await.unwrap().borrowings;
    assert_eq!(
        (&*open[0].from, &*open[0].to, &*open[0].part),
        ("T4", "T1", "o-ring-large")
    );
    let told = server
        .owner
        .create_fit("T4", &parts(&["cup-7"]), &TRY)
        .await
        .unwrap();
    assert_eq!(
        (&*told.state, &*told.faults[0].what),
        ("incomplete", "missing")
    );
    assert!(told.says[0].contains("Do not weld without it: air is drawn in at the cap."));
    // It cannot be lent twice, nor from a torch that has none.
    let again = server
        .owner
        .create_fit("T2", &lend("o-ring-large", "T4"), &DO)
        .await;
    assert!(
        again.unwrap_err().problem().unwrap().violations[0]
            .detail
            .contains("not fitted in T4")
    );
    // Put back, which leaves the borrower without.
    server
        .owner
        .create_fit("T4", &lend("o-ring-large", "T1"), &DO)
        .await
        .expect("it is put back");
    assert!(
        server
            .owner
            .list_borrowings(&out)
            .await
            .unwrap()
            .borrowings
            .is_empty()
    );
    let ended = server
        .owner
        .list_borrowings(&ListBorrowings::default())
        .await
        .unwrap()
        .borrowings;
    assert_eq!(
        (ended.len(), ended[0].ended_as.as_deref()),
        (1, Some("put back"))
    );
    assert_eq!(server.owner.get_torch("T4").await.unwrap().fitted, STANDARD);
    assert_eq!(server.owner.get_torch("T1").await.unwrap().fitted.len(), 6);
    // One from the drawer replaces what is out.
    server
        .owner
        .create_fit("T1", &lend("o-ring-large", "T4"), &DO)
        .await
        .expect("it is lent");
    server
        .owner
        .create_fit("T4", &parts(&["o-ring-large"]), &DO)
        .await
        .expect("it is fitted");
    let ended = server
        .owner
        .list_borrowings(&ListBorrowings::default())
        .await
        .unwrap()
        .borrowings;
    assert_eq!(ended[0].ended_as.as_deref(), Some("replaced"));
    assert_eq!(server.owner.get_torch("T4").await.unwrap().lent, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_shop_corrects_seats_and_adds_those_of_one_part() {
    let server = shop().await;
    let page = Page {
        limit: Some(500),
        ..Page::default()
    };
    let all = server.owner.list_seats(&page).await.unwrap().seats;
    assert!(
        all.iter()
            .all(|seats| !seats.checked && seats.source.is_some())
    );
    // This shop's no. 7 does go onto its lens.
    let own = NewPartSeats {
        code: "our-cup-7".to_owned(),
        part: Some("cup-7".to_owned()),
        takes: Some("cup: large gas-lens".to_owned()),
        checked: true,
        ..NewPartSeats::default()
    };
    let made = server.owner.create_seats(&own).await.expect("it is added");
    assert_eq!(try_on(&server, &["cup-7"]).await.state, "complete");
    let twice = NewPartSeats {
        code: "again".to_owned(),
        ..own.clone()
    };
    let refused = server.owner.create_seats(&twice).await.unwrap_err();
    assert_eq!(refused.problem().unwrap().violations[0].pointer, "/part");
    server
        .owner
        .delete_seats("our-cup-7", made.version)
        .await
        .unwrap();
    assert_eq!(try_on(&server, &["cup-7"]).await.state, "does not fit");
    // A pattern without seats is not guessed.
    let cups = server.owner.get_seats("cup-large-standard").await.unwrap();
    server
        .owner
        .delete_seats("cup-large-standard", cups.version)
        .await
        .unwrap();
    let told = try_on(&server, &["cup-7"]).await;
    assert_eq!(told.state, "cannot tell");
    assert!(
        told.faults
            .iter()
            .any(|fault| fault.what == "seats unknown"),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn seats_that_are_none_are_refused_by_field() {
    let server = shop().await;
    let good = NewPartSeats {
        code: "ours".to_owned(),
        kind: Some("cup".to_owned()),
        family: Some("small".to_owned()),
        pattern: Some("standard".to_owned()),
        takes: Some("cup: small standard".to_owned()),
        ..NewPartSeats::default()
    };
    type Spoil = fn(&mut NewPartSeats);
    let spoilt: [(&str, Spoil); 8] = [
        ("/kind", |new| new.kind = Some("hinge".to_owned())),
        ("/kind", |new| new.kind = Some("shielding-gas".to_owned())),
        ("/family", |new| new.family = None),
        ("/pattern", |new| new.pattern = Some("long".to_owned())),
        ("/takes", |new| {
            new.takes = Some("large gas-lens".to_owned())
        }),
        ("/offers/0", |new| {
            new.offers = vec!["cup: x, any diameter".to_owned()]
        }),
        ("/offers", |new| new.takes = None),
        ("/longest_rod", |new| {
            new.longest_rod = Some("50".to_owned())
        }),
    ];
    for (pointer, spoil) in spoilt {
        let mut new = good.clone();
        spoil(&mut new);
        let refused = server.owner.create_seats(&new).await.unwrap_err();
        let problem = refused.problem().expect("a problem");
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
    // The pattern has its seats from the start.
    let refused = server.owner.create_seats(&good).await.unwrap_err();
    let detail = &refused.problem().unwrap().violations[0].detail;
    assert!(
        detail.contains("cup-small-standard has its seats already"),
        "{detail}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_trial_is_a_sheet_too() {
    let server = shop().await;
    let query = TryFit {
        parts: "cup-7".to_owned(),
        ..TryFit::default()
    };
    let sheet = server
        .owner
        .try_fit_sheet("T1", &query)
        .await
        .expect("a sheet");
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(
        lines[0],
        "torch,state,row,seat,parts,on,available,says,in_stock,as_of"
    );
    assert!(
        lines[1].starts_with("T1,does not fit,mismatch,cup: large gas-lens,cup-7,lens-2.4,,"),
        "{sheet}"
    );
    let part = |line: &str| line.split(',').take(5).collect::<Vec<_>>().join(",");
    let ways: Vec<String> = lines[2..].iter().map(|line| part(line)).collect();
    assert_eq!(
        ways,
        [
            "T1,does not fit,way 1,cup: large gas-lens,cup-7-lens",
            "T1,does not fit,way 1,cup: large gas-lens,cup-8-lens",
            "T1,does not fit,way 2,front-end: large,body-2.4",
            "T1,does not fit,way 2,insulator: large standard,insulator-std",
        ]
    );
}
