//! Stock, needs and forecasts as of an instant: as they were known then, and as they are known now.
//! The shop is that of scenario S5; what happens afterwards is invented.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::demo::{MONDAY, furnished};
use types::{GetForecasts, GetNeeds, GetStock, NewCount, NewUsage, ProblemKind};

const PART: &str = "WLa20-2.4";
/// A day after the Monday of the shop.
const TUESDAY: &str = "2026-06-16T08:00:00-03:00";

/// The shop on Tuesday. On Monday it had 3 electrodes; since then one came to light that was taken on
/// Monday at 07:59:30, and 8 were counted on Tuesday.
async fn on_tuesday() -> TestServer {
    let server = furnished().await;
    server.set_clock(TUESDAY);
    let late = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        arc_minutes: Some(600),
        at: Some("2026-06-15T07:59:30-03:00".parse().expect("an instant")),
        ..NewUsage::default()
    };
    let told = server.owner.record_usage(&late, "late").await;
    told.expect("use");
    let count = NewCount {
        part: PART.to_owned(),
        counted: 8,
        ..NewCount::default()
    };
    let told = server.owner.record_count(&count, "count").await;
    told.expect("a count");
    server
}

fn stock(as_of: &str, known: Option<&str>) -> GetStock {
    GetStock {
        as_of: Some(as_of.to_owned()),
        known: known.map(str::to_owned),
        site: None,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn stock_is_told_as_it_was_known_and_as_it_is_known_now() {
    let server = on_tuesday().await;
    for (as_of, known, on_hand) in [
        // What was counted on Monday, before anybody told of the one that was taken.
        (MONDAY, Some("then"), 3),
        (MONDAY, Some("now"), 2),
        (MONDAY, None, 2),
        (TUESDAY, Some("then"), 8),
        (TUESDAY, Some("now"), 8),
        ("2026-06-15T07:59:00-03:00", Some("now"), 3),
    ] {
        let query = stock(as_of, known);
        let told = server.owner.get_stock(PART, &query).await.unwrap();
        assert_eq!(told.on_hand, on_hand, "{as_of} {known:?}");
        assert_eq!(told.as_of, tigstock_tests::instant(as_of));
        let says = told.stands_for.expect("it says what it stands for");
        assert!(says.contains("those of today"), "{says}");
        let then = known == Some("then");
        assert_eq!(says.contains("as it was known then"), then, "{says}");
        assert_eq!(says.contains("as it is known now"), !then, "{says}");
    }
    assert_eq!(server.on_hand(PART).await, 8);
    let now = server.stock(PART).await;
    assert_eq!(now.stands_for, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_explanation_is_of_the_same_instant() {
    let server = on_tuesday().await;
    let query = stock(MONDAY, Some("now"));
    let told = server.owner.explain_stock(PART, &query).await.unwrap();
    assert_eq!(
        told.says,
        "3 counted on 15 Jun 2026 10:59 UTC, -1 issue: 2 on hand."
    );
    let query = stock(MONDAY, Some("then"));
    let told = server.owner.explain_stock(PART, &query).await.unwrap();
    assert_eq!(told.says, "3 counted on 15 Jun 2026 10:59 UTC: 3 on hand.");
    assert!(told.stands_for.is_some());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_needs_of_a_job_are_those_of_that_day() {
    let server = on_tuesday().await;
    let needs = async |known: &str| {
        let query = GetNeeds {
            as_of: Some(MONDAY.to_owned()),
            known: Some(known.to_owned()),
            now: None,
        };
        server.owner.get_job_needs("R-118", &query).await.unwrap()
    };
    // The figures of scenario S5, which were computed outside this project.
    let then = needs("then").await;
    assert!(
        (then.chance_now - 0.2705).abs() < 5e-5,
        "{}",
        then.chance_now
    );
    assert_eq!((then.cost_minor, then.lines[0].available), (Some(5450), 3));
    assert!(then.assumes[0].contains("as it was known then"));
    let now = needs("now").await;
    assert_eq!(now.lines[0].available, 2);
    assert!(now.chance_now < then.chance_now);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_forecast_learns_from_what_was_known() {
    let server = on_tuesday().await;
    let used = async |known: &str| {
        let query = GetForecasts {
            part: Some(PART.to_owned()),
            arc: Some("34h".to_owned()),
            explain: Some("1".to_owned()),
            as_of: Some(MONDAY.to_owned()),
            known: Some(known.to_owned()),
            ..GetForecasts::default()
        };
        let told = server.owner.get_forecasts(&query).await.unwrap();
        assert!(told.stands_for.is_some());
        let explained = told.forecasts[0].explain.clone().expect("it is explained");
        (explained.used, explained.over)
    };
    // Three years: 58 in 410 arc hours. The late entry is one more, and ten hours.
    assert_eq!(used("then").await, (58, 410.0));
    assert_eq!(used("now").await, (59, 420.0));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_was_on_order_until_it_came_or_was_cancelled() {
    let server = furnished().await;
    let hour = |hour: u32| format!("2026-06-15T{hour:02}:00:00-03:00");
    let mut numbers = Vec::new();
    for key in ["K1", "K2"] {
        let order = json!({"supplier": "quayhead",
            "lines": [{"part": PART, "pack_size": 10, "packs": 1}]});
        let made = server.ask("POST", "/v1/orders").once(key).json(&order);
        let made: Value = made.send().await.read();
        numbers.push(made["number"].as_i64().expect("a number"));
    }
    // Both are placed at 9; 4 of the first come at 10, and the second is cancelled at 11.
    server.set_clock(&hour(9));
    for number in &numbers {
        server.owner.place_order(*number).await.unwrap();
    }
    server.set_clock(&hour(10));
    let some = json!({"lines": [{"part": PART, "quantity": 4}]});
    let path = format!("/v1/orders/{}/receive", numbers[0]);
    let came = server
        .ask("POST", &path)
        .once("K3")
        .json(&some)
        .send()
        .await;
    assert_eq!(came.status, 200, "{}", came.text());
    server.set_clock(&hour(11));
    server.owner.cancel_order(numbers[1]).await.unwrap();
    server.set_clock(&hour(12));
    for known in ["then", "now"] {
        for (as_of, on_hand, on_order) in [
            (hour(8), 3, 0),
            (hour(9), 3, 20),
            (hour(10), 7, 16),
            (hour(11), 7, 6),
        ] {
            let query = stock(&as_of, Some(known));
            let told = server.owner.get_stock(PART, &query).await.unwrap();
            assert_eq!(
                (told.on_hand, told.on_order),
                (on_hand, on_order),
                "{as_of}"
            );
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_told_of_the_past_is_refused_with_what_to_give() {
    let server = on_tuesday().await;
    let places = [
        "/v1/stock?",
        "/v1/stock/WLa20-2.4?",
        "/v1/stock/WLa20-2.4/explanation?",
        "/v1/jobs/R-118/needs?",
        "/v1/forecasts?arc=34h&",
    ];
    for place in places {
        for (query, pointer, words) in [
            ("as_of=2026-06-16T08:00:01-03:00", "?as_of", "still to come"),
            (
                "as_of=yesterday",
                "?as_of",
                "\"yesterday\" is not an instant; give RFC 3339",
            ),
            ("known=then", "?known", "give as_of with it"),
            (
                "as_of=2026-06-15T08:00:00-03:00&known=soon",
                "?known",
                "\"soon\" is unknown; give then or now",
            ),
        ] {
            let heard = server.ask("GET", &format!("{place}{query}")).send().await;
            let problem = heard.problem(ProblemKind::Invalid);
            let told = &problem.violations[0];
            assert_eq!(told.pointer, pointer, "{place}{query}");
            assert!(told.detail.contains(words), "{}", told.detail);
        }
    }
    for place in &places[3..] {
        let query = "as_of=2026-06-15T08:00:00-03:00&now=2026-06-15T08:00:00-03:00";
        let heard = server.ask("GET", &format!("{place}{query}")).send().await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, "?now");
    }
    let path = "/v1/jobs/R-118/orders?as_of=2026-06-15T08:00:00-03:00";
    let heard = server.ask("POST", path).once("K").send().await;
    assert!(
        heard.status >= 400 && heard.text().contains("as_of"),
        "{}",
        heard.text()
    );
}
