//! What is fitted in a torch: at most one part in each place, rear to tip, from now on.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode, gas_lens};
use types::{GetForecasts, NewPart, NewSetUp, NewUsage, ProblemKind, SetUp};

fn cup(code: &str, number: i64) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "cup".to_owned(),
        cup_number: Some(number),
        seat: Some("gas-lens".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

fn body(code: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "collet-body".to_owned(),
        diameter: Some("2.4 mm".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

fn plain(code: &str, kind: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        family: (kind == "o-ring").then(|| "large".to_owned()),
        ..NewPart::default()
    }
}

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    for part in [
        electrode("WLa20-2.4", "2.4 mm"),
        electrode("WLa20-1.6", "1.6 mm"),
        collet("collet-2.4"),
        body("body-2.4"),
        gas_lens("gas-lens-2.4"),
        cup("cup-7", 7),
        cup("cup-8", 8),
        plain("o-ring-large", "o-ring"),
        plain("wheel", "tungsten-wheel"),
    ] {
        server.part(part).await;
    }
    server.torch("T1", &[]).await;
    server
}

async fn fit(server: &TestServer, parts: &[&str], version: i64) -> Result<SetUp, client::Error> {
    let set_up = NewSetUp {
        parts: parts.iter().map(|part| (*part).to_owned()).collect(),
    };
    server.owner.replace_set_up("T1", &set_up, version).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_set_up_is_told_from_the_rear_to_the_tip() {
    let server = shop().await;
    let parts = [
        "cup-7",
        "gas-lens-2.4",
        "collet-2.4",
        "WLa20-2.4",
        "o-ring-large",
    ];
    let set_up = fit(&server, &parts, 1).await.unwrap();
    let order = [
        "o-ring-large",
        "WLa20-2.4",
        "collet-2.4",
        "gas-lens-2.4",
        "cup-7",
    ];
    assert_eq!(
        (set_up.parts, set_up.version),
        (order.map(str::to_owned).to_vec(), 2)
    );
    let torch = server.owner.get_torch("T1").await.unwrap();
    assert_eq!(
        (torch.fitted, torch.version),
        (order.map(str::to_owned).to_vec(), 2)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn changing_parts_comes_with_its_caution() {
    let server = shop().await;
    let set_up = fit(&server, &["cup-7"], 1).await.unwrap();
    assert!(
        set_up.cautions[0].contains("Power source off"),
        "{:?}",
        set_up.cautions
    );
    let closing = set_up.cautions.last().expect("a closing sentence");
    assert!(closing.contains("ask a qualified person"), "{closing}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_parts_do_not_fit_in_one_place() {
    let server = shop().await;
    for (parts, second) in [
        (["cup-7", "cup-8"], "cup-8"),
        (["WLa20-2.4", "WLa20-1.6"], "WLa20-1.6"),
        (["body-2.4", "gas-lens-2.4"], "gas-lens-2.4"),
        (["gas-lens-2.4", "body-2.4"], "body-2.4"),
        (["cup-7", "CUP-7"], "cup-7"),
    ] {
        let error = fit(&server, &parts, 1).await.unwrap_err();
        let problem = error.problem().expect("a problem");
        assert!(error.is(ProblemKind::Invalid), "{parts:?}: {problem:?}");
        let told = &problem.violations[0];
        assert_eq!(told.pointer, "/parts/1", "{parts:?}");
        assert!(told.detail.contains(second), "{told:?}");
    }
    let set_up = server.owner.get_set_up("T1").await.unwrap();
    assert!(
        set_up.parts.is_empty() && set_up.fitted_at.is_none(),
        "{set_up:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_fitted_in_a_torch_is_refused() {
    let server = shop().await;
    for (part, words) in [
        ("wheel", "not fitted in a torch"),
        ("nothing", "there is no part"),
    ] {
        let error = fit(&server, &["cup-7", part], 1).await.unwrap_err();
        let problem = error.problem().expect("a problem");
        let told = &problem.violations[0];
        assert_eq!(told.pointer, "/parts/1");
        assert!(
            told.detail.contains(part) && told.detail.contains(words),
            "{told:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_set_up_of_an_older_version_is_refused() {
    let server = shop().await;
    fit(&server, &["cup-7"], 1).await.unwrap();
    let error = fit(&server, &["cup-8"], 1).await.unwrap_err();
    assert!(error.is(ProblemKind::Stale), "{error}");
    assert_eq!(
        server.owner.get_set_up("T1").await.unwrap().parts,
        ["cup-7"]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_may_be_stripped() {
    let server = shop().await;
    fit(&server, &["cup-7"], 1).await.unwrap();
    let bare = fit(&server, &[], 2).await.unwrap();
    assert!(bare.parts.is_empty());
    assert!(
        server
            .owner
            .get_torch("T1")
            .await
            .unwrap()
            .fitted
            .is_empty()
    );
}

/// The arc hours on record of a cup.
async fn hours(server: &TestServer, part: &str) -> f64 {
    let query = GetForecasts {
        part: Some(part.to_owned()),
        arc: Some("1h".to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await;
    let told = told.expect("forecasts");
    told.forecasts[0].explain.as_ref().expect("asked for").over
}

async fn weld(server: &TestServer, minutes: i64, at: &str) {
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(minutes),
        at: Some(at.parse().expect("an instant")),
        ..NewUsage::default()
    };
    let logged = server.owner.record_usage(&usage, at).await;
    logged.expect("it is logged");
}

#[tokio::test(flavor = "multi_thread")]
async fn arc_time_wears_what_was_fitted_when_it_happened() {
    let server = shop().await;
    fit(&server, &["cup-7"], 1).await.unwrap();
    server.set_clock("2026-06-15T12:00:00-03:00");
    fit(&server, &["cup-8"], 2).await.unwrap();
    server.set_clock("2026-06-15T16:00:00-03:00");
    // Sent in after the change of cups, the earlier one last.
    weld(&server, 120, "2026-06-15T15:00:00-03:00").await;
    weld(&server, 60, "2026-06-15T11:00:00-03:00").await;
    assert!((hours(&server, "cup-7").await - 1.0).abs() < 1e-12);
    assert!((hours(&server, "cup-8").await - 2.0).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_with_nothing_fitted_says_that_it_wears_nothing() {
    let server = shop().await;
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        arc_minutes: Some(60),
        ..NewUsage::default()
    };
    let told = server.owner.record_usage(&usage, "log").await.unwrap();
    assert!(told.says.contains("Nothing is fitted"), "{}", told.says);
}
