//! `plan` of a job that is sized by its welds.

use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::NewPart;

use crate::computer::Computer;

async fn shop() -> TestServer {
    let server = furnished().await;
    for (code, kind, composition, diameter) in [
        ("argon", "shielding-gas", "argon", None),
        ("ER308L-1.6", "filler-rod", "ER308L", Some("1.6 mm")),
        ("ER308L-2.4", "filler-rod", "ER308L", Some("2.4 mm")),
        ("ER316L-2.4", "filler-rod", "ER316L", Some("2.4 mm")),
    ] {
        let part = NewPart {
            code: code.to_owned(),
            kind: kind.to_owned(),
            composition: Some(composition.to_owned()),
            diameter: diameter.map(str::to_owned),
            ..NewPart::default()
        };
        server.part(part).await;
    }
    server
}

/// Plans a job of one weld, which is written with commas: the words of a line are parted by blanks.
async fn run(server: &TestServer, weld: &str) -> crate::computer::Told {
    let line = format!(
        "plan R-140 --torch T1 --start 2026-07-06 --gas argon --flow 7L/min --pre-flow 0.5s \
         --post-flow 12s --weld {}",
        weld.replace(' ', ",")
    );
    Computer::of(server).run(&line).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_sized_by_its_welds() {
    let server = shop().await;
    // 15 m at 250 mm a minute are an hour; 120 starts of 12.5 s at 7 L/min: 595 L.
    let told = run(
        &server,
        "fillet 3mm 15m stainless 1.6mm 250mm/min 120starts",
    )
    .await;
    assert!(
        told.err
            .contains("The weld list adds up to 1 h of arc, 120 starts"),
        "{told:?}"
    );
    assert!(told.out.contains("Shielding gas argon"), "{}", told.out);
    assert!(told.out.contains("595 L"), "{}", told.out);
    assert!(told.out.contains("678 g"), "{}", told.out);
    let job = server.owner.get_job("R-140").await.expect("the job");
    assert_eq!(job.welds[0].filler.as_deref(), Some("ER308L-1.6"));
    assert_eq!(job.gas_flow.as_deref(), Some("7 L/min"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_filler_that_is_not_clear_is_asked_for() {
    let server = shop().await;
    let told = run(&server, "fillet 3mm 15m stainless 2.4mm 250mm/min").await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(
        told.err.contains("ER308L-2.4, ER316L-2.4") && told.err.contains("with"),
        "{}",
        told.err
    );
    let told = run(&server, "fillet 3mm 15m stainless 3.2mm 250mm/min").await;
    assert!(told.err.contains("no filler rod of 3.2 mm"), "{}", told.err);
    let told = run(&server, "fillet 3mm 15m stainless 0mm/min").await;
    assert_eq!(told.code, 64, "{told:?}");
    server
        .owner
        .get_job("R-140")
        .await
        .expect_err("nothing is set up");
}
