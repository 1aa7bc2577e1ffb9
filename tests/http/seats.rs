//! Seats of parts: read, corrected and extended by the shop; fit follows from them at once.

use tigstock_tests::TestServer;
use tigstock_tests::front_ends::LENS;
use types::{FitCheck, FitQuery, NewFit, NewPartSeats, Page};

/// Makes one field wrong.
type Spoil = fn(&mut NewPartSeats);

/// A torch with a gas lens, and a cup of the standard series.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let stock = LENS.map(|part| (part, 2));
    server.shelve(&stock).await;
    server.shelve(&[("cup-7", 6)]).await;
    server.torch("T1", &LENS).await;
    server
}

async fn try_on(server: &TestServer, codes: &[&str]) -> FitCheck {
    let new = NewFit {
        parts: codes.iter().map(|code| (*code).to_owned()).collect(),
        ..NewFit::default()
    };
    let only_try = FitQuery { try_only: Some(1) };
    let told = server.owner.create_fit("T1", &new, &only_try).await;
    told.expect("it is told")
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
    assert_eq!(
        told.says,
        [
            "Cannot tell whether T1 is complete.",
            "The seats of cup-7 are not known. Next: add them to the seats."
        ]
    );
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
    let spoilt: [(&str, Spoil); 8] = [
        ("/kind", |new| new.kind = Some("hinge".to_owned())),
        ("/kind", |new| new.kind = Some("shielding-gas".to_owned())),
        ("/family", |new| new.family = None),
        ("/pattern", |new| new.pattern = Some("long".to_owned())),
        ("/takes", |new| {
            new.takes = Some("large gas-lens".to_owned());
        }),
        ("/offers/0", |new| {
            new.offers = vec!["cup: x, any diameter".to_owned()];
        }),
        ("/offers", |new| new.takes = None),
        ("/longest_rod", |new| {
            new.longest_rod = Some("50".to_owned());
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
