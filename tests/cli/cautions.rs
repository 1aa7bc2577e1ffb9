//! Cautions on the command line: beside the answer, on the other channel, and only where they belong.

use tigstock_tests::builders::electrode;
use tigstock_tests::demo::furnished;
use types::NewPart;

use crate::computer::Computer;

const ARGON: &str = "Argon displaces air without warning";
const CYLINDER: &str = "Chain upright";
const FUME: &str = "Ventilate or extract";
const THORIUM: &str = "slightly radioactive";
const HOT: &str = "Let the torch cool";
const ALL: [&str; 5] = [ARGON, CYLINDER, FUME, THORIUM, HOT];

#[tokio::test(flavor = "multi_thread")]
async fn each_command_tells_the_cautions_of_its_moment() {
    let server = furnished().await;
    let argon = NewPart {
        code: "argon".to_owned(),
        kind: "shielding-gas".to_owned(),
        composition: Some("argon".to_owned()),
        ..NewPart::default()
    };
    server.part(argon).await;
    let thoriated = NewPart {
        class: Some("WTh20".to_owned()),
        ..electrode("WTh20-2.4", "2.4 mm")
    };
    server.part(thoriated).await;
    let plan = "plan R-118 --arc 34h --torch T1 --kit K-24G --start 2026-06-26";
    let computer = Computer::of(&server);
    for (line, must) in [
        (plan.to_owned(), &[][..]),
        (
            format!("{plan} --conditions purge,stainless"),
            &[ARGON, FUME],
        ),
        // What is not given stays as it is.
        ("plan R-118".to_owned(), &[ARGON, FUME]),
        ("plan R-118 --conditions coated".to_owned(), &[FUME]),
        ("plan R-118 --conditions none".to_owned(), &[]),
        ("receive argon 8400000".to_owned(), &[ARGON, CYLINDER]),
        ("receive WTh20-2.4 1".to_owned(), &[THORIUM]),
        ("receive WLa20-2.4 1".to_owned(), &[]),
        ("broke T1 cup".to_owned(), &[HOT]),
        ("take T1 cup".to_owned(), &[]),
    ] {
        let told = computer.run(&line).await;
        assert!(told.code <= 1, "{line}: {told:?}");
        for words in ALL {
            let expected = must.contains(&words);
            assert_eq!(
                told.err.contains(words),
                expected,
                "{line}: {words}: {told:?}"
            );
            assert!(!told.out.contains(words), "{line}: {told:?}");
        }
    }
    let told = computer.run("plan R-118 --conditions sunny").await;
    assert_eq!(told.code, 64, "{told:?}");
    assert!(
        told.err.contains("sunny is not a condition of the work"),
        "{told:?}"
    );
}
