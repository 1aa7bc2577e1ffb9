//! Scenario S4: the same cup number of the wrong series, and the other misfits that are told by their
//! seats; parts that are fitted, and parts that are refused.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::front_ends::{LENS, STANDARD};
use types::{FitCheck, FitQuery, NewFit, NewSite, NewStub, ProblemKind, TryFit};

use crate::site_rules::of_class;

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
            "Fits now in its place: cup no. 8, gas-lens seat (3).",
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
    assert_eq!(
        told.says,
        [
            "Fitted: T1 is complete.",
            "Came off: lens-2.4, insulator-lens, cup-7-lens."
        ]
    );
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

#[tokio::test(flavor = "multi_thread")]
async fn a_class_that_the_site_bars_is_neither_offered_nor_fitted() {
    let server = shop().await;
    server.stocked(of_class("WTh20-2.4", "WTh20"), 9).await;
    // Without an electrode, so that one is wanted.
    let without: Vec<&str> = LENS
        .into_iter()
        .filter(|part| *part != "WLa20-2.4")
        .collect();
    let torch = server.owner.get_torch("T1").await.unwrap();
    server.fit("T1", &without, torch.version).await;
    let offered = async || {
        let told = try_on(&server, &["cup-8-lens"]).await;
        let choices = told.ways[0].choices.clone();
        choices[0]
            .parts
            .iter()
            .map(|part| part.part.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(offered().await, ["WLa20-2.4", "WTh20-2.4"]);
    let site = server.owner.get_site("shop").await.unwrap();
    let barred = NewSite {
        barred: vec!["thoriated".to_owned()],
        ..site.clone().into_new()
    };
    server
        .owner
        .replace_site("shop", &barred, site.version)
        .await
        .unwrap();
    assert_eq!(offered().await, ["WLa20-2.4"]);
    let told = try_on(&server, &["WTh20-2.4"]).await;
    assert_eq!(told.state, "not permitted");
    assert!(
        told.says[0].starts_with("Not permitted here: WTh20-2.4 is not permitted at Shop."),
        "{:?}",
        told.says
    );
    let refused = server
        .owner
        .create_fit("T1", &parts(&["WTh20-2.4"]), &DO)
        .await
        .unwrap_err();
    assert_eq!(refused.problem().unwrap().violations[0].pointer, "/parts/0");
}
