//! Scenario S1 on the command line and in the sheet: the same figures on every face, and the exit code
//! that says what to do.

use std::collections::HashMap;

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::procedure::drawer;
use types::{GetMatch, NewOffer, NewSupplier, NewUsage, ProcedureMatch};

use crate::computer::Computer;

/// The drawer of scenario S1 in June, with EQ-1 signed in February or not.
async fn shop(signed: bool) -> (TestServer, Computer) {
    let server = drawer().await;
    if signed {
        server.sign_eq_1().await;
    }
    server.set_clock("2026-06-15T08:00:00-03:00");
    let computer = Computer::of(&server);
    (server, computer)
}

#[tokio::test(flavor = "multi_thread")]
async fn with_the_equivalence_signed_nine_match_and_the_command_ends_with_0() {
    let (_server, computer) = shop(true).await;
    let told = computer.run("match PROC-07 --need 8").await;
    assert_eq!(told.code, 0, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    PROC-07 rev 2: 9 usable, need 8, 1 left.
    Accepted: 9 x 3/32 in EWLa-2, lot L-2231 (EQ-1, signed 12 Feb 2026).
    Not usable: 6 x 2.5 mm (different size: 2.5 is not 2.4, and it needs its own collet). 12 x WCe20 (class not on the procedure). 4 unidentified (class unknown).
    Tip: 30 degrees included.
    ");
    assert!(
        told.err
            .contains("Class unknown: treat as possibly thoriated."),
        "{told:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_signature_it_ends_with_2_and_says_what_would_have_to_be_signed() {
    let (_server, computer) = shop(false).await;
    let told = computer.run("match PROC-07 --need 8").await;
    assert_eq!(told.code, 2, "{told:?}");
    insta::assert_snapshot!(told.out, @r"
    PROC-07 rev 2: 0 usable, need 8, 8 short.
    9 pieces would match if the person responsible for PROC-07 accepts EQ-1.
    EQ-1: 3/32 in EWLa-2 = 2.4 mm WLa20.
    Not usable: 6 x 2.5 mm (different size: 2.5 is not 2.4, and it needs its own collet). 12 x WCe20 (class not on the procedure). 4 unidentified (class unknown).
    Next: have EQ-1 signed, or have the procedure revised (rev 3).
    Tip: 30 degrees included.
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_exit_code_tells_order_from_blocked_from_cannot_tell() {
    let (server, computer) = shop(true).await;
    // Nine usable and nobody offers more: blocked.
    assert_eq!(computer.run("match PROC-07 --need 12").await.code, 2);
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let seller = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    server
        .owner
        .create_supplier(&seller)
        .await
        .expect("a supplier");
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "WLa20-2.4".to_owned(),
        pack_size: 10,
        price_minor: 4200,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let told = computer.run("match PROC-07 --need 12").await;
    assert_eq!(told.code, 1, "{told:?}");
    assert!(
        told.out
            .contains("Next: order WLa20-2.4, or have the procedure revised (rev 3).")
    );
    let taken = NewUsage {
        what: Some("took".to_owned()),
        part: Some("WLa20-2.4".to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&taken, "below")
        .await
        .expect("it is recorded");
    assert_eq!(computer.run("match PROC-07 --need 12").await.code, 3);
    assert_eq!(computer.run("match PROC-07 --need 9").await.code, 0);
    let unknown = computer.run("match PROC-70").await;
    assert_eq!((unknown.code, &*unknown.out), (65, ""), "{unknown:?}");
    assert!(
        unknown.err.contains("there is no procedure PROC-70"),
        "{unknown:?}"
    );
    assert_eq!(computer.run("match PROC-07 --need 0").await.code, 64);
}

/// The rows of a sheet by the code of their part: quantity, usable, verdict and reason.
fn rows(csv: &str) -> HashMap<String, [String; 4]> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let names = reader.headers().expect("a first line").clone();
    let place = |name: &str| names.iter().position(|it| it == name).expect(name);
    let wanted = ["quantity", "usable", "verdict", "reason"].map(place);
    let part = place("part");
    let rows = reader.records().map(|row| {
        let row = row.expect("a row");
        (
            row[part].to_owned(),
            wanted.map(|place| row[place].to_owned()),
        )
    });
    rows.collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_the_command_and_the_api_show_the_same() {
    let (server, computer) = shop(true).await;
    let query = GetMatch {
        need: Some(8),
        ..GetMatch::default()
    };
    let api = server
        .owner
        .match_procedure("PROC-07", &query)
        .await
        .expect("a match");
    let sheet = server
        .owner
        .get_procedure_match_sheet("PROC-07", &query)
        .await;
    let sheet = rows(&sheet.expect("a sheet"));
    let csv = computer.run("match PROC-07 --need 8 --format csv").await;
    assert_eq!(csv.code, 0, "{csv:?}");
    let csv = rows(&csv.out);
    assert_eq!((api.rows.len(), sheet.len()), (4, 4));
    for row in &api.rows {
        let part = row.part.as_deref().expect("a part");
        let told = [
            row.quantity.to_string(),
            row.usable.to_string(),
            row.verdict.clone(),
            row.reason.clone(),
        ];
        assert_eq!(sheet[part], told, "{part}");
        assert_eq!(csv[part], told, "{part}");
    }
    let json = computer.run("match PROC-07 --need 8 --format json").await;
    let json: ProcedureMatch = serde_json::from_str(&json.out).expect("it is JSON");
    assert_eq!(json, api);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_planned_under_a_procedure_and_told_what_is_not_entered() {
    let (server, computer) = shop(true).await;
    server.torch("T1", &["EWLa-2-3-32"]).await;
    let told = computer
        .run("plan R-140 --arc 2h --torch T1 --start 2026-07-01 --procedure PROC-07")
        .await;
    let job = server.owner.get_job("R-140").await.expect("a job");
    assert_eq!(job.procedure.as_deref(), Some("PROC-07 rev 2"), "{told:?}");
    assert!(job.locked);
    let told = computer.run("plan R-140 --procedure PROC-99").await;
    assert!(
        told.err.contains("\"PROC-99\" is not entered here"),
        "{told:?}"
    );
}
