//! Values at the ends of their ranges, and dates nobody means: taken or refused, but never a fault
//! of the service, and never an answer that is no number.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, electrode};
use types::{ListMovements, NewReceipt, Stock};

const PART: &str = "WLa20-2.4";

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let part = assuming(electrode(PART, "2.4 mm"), "arc-hour", 2.0, 20.0);
    server.stocked(part, 3).await;
    server.torch("T1", &[PART]).await;
    let seller = json!({"code": "quayhead", "currency": "CAD", "lead_time_days": 365});
    let offer = json!({"supplier": "quayhead", "part": PART, "pack_size": 1_000_000_000,
        "price_minor": 1_000_000_000_000_i64});
    for (list, body) in [("suppliers", seller), ("offers", offer)] {
        let ask = server.ask("POST", &format!("/v1/{list}")).json(&body);
        assert_eq!(ask.send().await.status, 201, "{list}");
    }
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

/// Plans a job; gives its address unless it is refused.
async fn job(server: &TestServer, body: Value) -> Option<String> {
    let ask = server.ask("POST", "/v1/jobs?begun=true").json(&body);
    let heard = ask.send().await;
    assert!(heard.status < 500, "{body}: {}", heard.text());
    (heard.status == 201).then(|| heard.header("Location").to_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_on_any_day_that_can_be_written_is_answered() {
    let server = shop().await;
    for (index, start) in [
        "0000-01-01",
        "0001-01-01",
        "1582-10-15",
        "9999-12-31",
        "+10000-01-01",
        "-0001-01-01",
        "+262142-12-31",
        "-262143-01-01",
        "2028-02-29",
    ]
    .iter()
    .enumerate()
    {
        let body =
            json!({"code": format!("R-{index}"), "torch": "T1", "weeks": 1.0, "start": start});
        let Some(place) = job(&server, body).await else {
            continue;
        };
        let heard = server.ask("GET", &place).send().await;
        assert_eq!(heard.status, 200, "{start}: {}", heard.text());
        assert_eq!(heard.read::<Value>()["start"], *start);
        let heard = server.ask("GET", &format!("{place}/needs")).send().await;
        // A job of one week that began so long ago is over: 15 June 2026 is the present here.
        let is_past = heard.text().contains("nothing of it is to come");
        let status = if is_past { 409 } else { 200 };
        assert_eq!(heard.status, status, "{start}: {}", heard.text());
        let is_later = ["9999", "+", "2028"]
            .iter()
            .any(|year| start.starts_with(year));
        assert_eq!(is_past, !is_later, "{start}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn any_instant_may_be_asked_for() {
    let server = shop().await;
    let body = json!({"code": "R-1", "torch": "T1", "arc_minutes": 60, "start": "2026-07-01"});
    let place = job(&server, body).await.expect("a job");
    for now in [
        "0000-01-01T00:00:00Z",
        "1969-12-31T23:59:59.999999999-23:59",
        "9999-12-31T23:59:59%2B23:59",
        "%2B262142-12-31T23:59:59Z",
        "-262143-01-01T00:00:00Z",
        "2026-06-30T23:59:60Z",
    ] {
        for path in [
            format!("{place}/needs?now={now}"),
            format!("/v1/forecasts?arc=1h&pace=1h&cover_days=3650&now={now}"),
        ] {
            let heard = server.ask("GET", &path).send().await;
            assert!(
                matches!(heard.status, 200 | 422) || heard.text().contains("move its start"),
                "{path}: {}",
                heard.text()
            );
        }
    }
}

/// Whether there is a null where the contract has a number.
fn numbers_are_there(value: &Value, fields: &[&str]) -> bool {
    fields.iter().all(|field| value[field].is_number())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_largest_and_smallest_jobs_have_chances_between_0_and_1() {
    let server = shop().await;
    for (index, size) in [
        json!({"arc_minutes": 6_000_000}),
        json!({"arc_minutes": 1}),
        json!({"grinds": 1_000_000}),
        json!({"weeks": 520.0}),
        json!({"weeks": 0.1}),
    ]
    .into_iter()
    .enumerate()
    {
        let mut body = json!({"code": format!("R-{index}"), "torch": "T1", "start": "2026-07-01", "target": 0.9999});
        for (field, value) in size.as_object().expect("a size") {
            body[field] = value.clone();
        }
        let place = job(&server, body).await.expect("a job");
        let heard = server.ask("GET", &format!("{place}/needs")).send().await;
        assert_eq!(heard.status, 200, "{size}: {}", heard.text());
        let needs: Value = heard.read();
        for chance in ["chance_now", "chance_after"] {
            let chance = needs[chance].as_f64().expect("a chance");
            assert!((0.0..=1.0).contains(&chance), "{needs}");
        }
        for line in needs["lines"].as_array().expect("lines") {
            assert!(
                numbers_are_there(line, &["expected", "need", "short", "after", "own_share"]),
                "{line}"
            );
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn assumptions_at_the_ends_of_their_range_give_numbers() {
    let server = shop().await;
    for (index, (shape, rate)) in [
        (1e-300, 1e-300),
        (1e300, 1e300),
        (1e-6, 1e6),
        (1e6, 1e-6),
        (f64::MIN_POSITIVE, f64::MAX),
    ]
    .into_iter()
    .enumerate()
    {
        let code = format!("part-{index}");
        let assumed = json!([{"per": "arc-hour", "shape": shape, "rate": rate}]);
        let body = json!({"code": code, "kind": "electrode", "class": "WLa20", "diameter": "2.4 mm",
            "starting_assumptions": assumed});
        let heard = server.ask("POST", "/v1/parts").json(&body).send().await;
        assert!(
            matches!(heard.status, 201 | 422),
            "{body}: {}",
            heard.text()
        );
        if heard.status == 422 {
            continue;
        }
        let path = format!("/v1/forecasts?part={code}&arc=100000h&pace=100h&cover_days=3650");
        let heard = server.ask("GET", &path).send().await;
        assert_eq!(heard.status, 200, "{shape} {rate}: {}", heard.text());
        let told: Value = heard.read();
        let forecast = &told["forecasts"][0];
        assert!(
            numbers_are_there(forecast, &["expected", "need", "chance", "own_share"]),
            "{told}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_greatest_order_and_the_greatest_receipts_add_up() {
    let server = shop().await;
    let order = json!({"supplier": "quayhead", "lines": [
        {"part": PART, "pack_size": 1_000_000_000, "packs": 10_000}]});
    let ask = server.ask("POST", "/v1/orders").once("order").json(&order);
    let made = ask.send().await;
    assert_eq!(made.status, 201, "{}", made.text());
    let made: types::Order = made.read();
    assert_eq!(made.lines[0].pieces, 10_000_000_000_000);
    assert_eq!(made.cost_minor, 10_000_000_000_000_000);
    let placed = server.owner.place_order(made.number).await.unwrap();
    assert_eq!(placed.state, "placed");
    for number in 0..10 {
        let receipt = NewReceipt {
            part: PART.to_owned(),
            quantity: 1_000_000_000,
            order: Some(made.number),
            ..NewReceipt::default()
        };
        let key = format!("parcel-{number}");
        server.owner.record_receipt(&receipt, &key).await.unwrap();
    }
    let stock: Stock = server.stock(PART).await;
    assert_eq!(stock.on_hand, 10_000_000_003);
    assert_eq!(stock.on_order, 9_990_000_000_000);
    let rows = server.owner.list_movements(&ListMovements::default()).await;
    assert_eq!(rows.unwrap().movements.len(), 10);
}

#[tokio::test(flavor = "multi_thread")]
async fn text_in_any_script_comes_back_as_it_was_sent() {
    let server = shop().await;
    for (index, note) in [
        "\u{410}\u{440}\u{433}\u{43e}\u{43d} \u{2014} 2,4 \u{43c}\u{43c}",
        "\u{1f525}\u{200d}\u{1f9d1}",
        "'; DROP TABLE parts; --",
        "<script>alert(1)</script> & \"quotes\" \\ back",
        "=1+1",
        "\u{202e}txet\u{202c}",
    ]
    .iter()
    .enumerate()
    {
        let code = format!("part-{index}");
        let body = json!({"code": code, "kind": "o-ring", "family": "large", "note": note, "marking": note});
        let heard = server.ask("POST", "/v1/parts").json(&body).send().await;
        assert_eq!(heard.status, 201, "{note}: {}", heard.text());
        let found = server.owner.get_part(&code).await.unwrap();
        assert_eq!(found.note.as_deref(), Some(*note));
        assert_eq!(found.marking.as_deref(), Some(*note));
    }
}
