//! Cups without a number on them: set up by their measured bore, told by the number it names.

use tigstock_tests::TestServer;
use types::NewPart;

fn cup(code: &str, bore: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "cup".to_owned(),
        bore: Some(bore.to_owned()),
        seat: Some("gas-lens".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cup_is_set_up_by_its_bore_and_told_by_its_number() {
    let server = TestServer::start().await;
    // A no. 7 cup is 11.11 mm by its number and 11 mm in some tables (common practice).
    for (code, bore) in [("a", "11 mm"), ("b", "7/16 in"), ("c", "11.1")] {
        let made = server.owner.create_part(&cup(code, bore)).await;
        let made = made.expect("the bore names a cup");
        assert_eq!(made.name, "Cup no. 7, gas-lens seat");
        assert_eq!((made.cup_number, &made.bore), (Some(7), &None), "{bore}");
        let version = made.version;
        let again = server
            .owner
            .replace_part(code, &made.into_new(), version)
            .await;
        assert_eq!(again.expect("an edit keeps it").cup_number, Some(7));
    }
    let both = NewPart {
        cup_number: Some(7),
        ..cup("d", "11 mm")
    };
    let made = server.owner.create_part(&both).await;
    assert_eq!(made.expect("they agree").cup_number, Some(7));
}
