//! Requests that cannot be read at all: broken JSON, wrong types, unknown fields, bodies of the
//! wrong kind or size, and headers that are missing. Nothing of them is stored.

use serde_json::json;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{Problem, ProblemKind};

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 3).await;
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

/// The problem that posting those bytes as JSON ends in.
async fn post(server: &TestServer, path: &str, body: impl Into<reqwest::Body>) -> Problem {
    let ask = server.ask("POST", path).once("K1");
    let heard = ask.text("application/json", body).send().await;
    heard.problem(ProblemKind::MalformedRequest)
}

async fn nothing_was_stored(server: &TestServer) {
    assert_eq!(server.rows().await, 0);
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_value_of_the_wrong_type_is_told_with_the_value_and_what_is_expected() {
    let server = shop().await;
    for (body, words) in [
        (r#"{"part": "WLa20-2.4", "quantity": 1.5}"#, ["1.5", "i64"]),
        (
            r#"{"part": "WLa20-2.4", "quantity": "ten"}"#,
            ["ten", "i64"],
        ),
        (
            r#"{"part": "WLa20-2.4", "quantity": null}"#,
            ["null", "i64"],
        ),
        (
            r#"{"part": "WLa20-2.4", "quantity": 1e3}"#,
            ["1000.0", "i64"],
        ),
        (
            r#"{"part": "WLa20-2.4", "quantity": 99999999999999999999}"#,
            ["1e+20", "i64"],
        ),
        (r#"{"part": 24, "quantity": 1}"#, ["24", "string"]),
        (
            r#"{"part": ["WLa20-2.4"], "quantity": 1}"#,
            ["sequence", "string"],
        ),
        (r#"{"quantity": 1}"#, ["missing field", "part"]),
        (
            r#"{"part": "WLa20-2.4", "quantity": 1, "at": "yesterday"}"#,
            ["invalid", "line 1"],
        ),
        (
            r#"{"part": "WLa20-2.4", "quantity": 1, "at": "2026-06-15"}"#,
            ["premature", "line 1"],
        ),
        ("[1, 2]", ["invalid", "string"]),
    ] {
        let problem = post(&server, "/v1/receipts", body).await;
        for word in words {
            assert!(problem.detail.contains(word), "{body}: {word}: {problem:?}");
        }
    }
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_date_without_an_offset_is_refused_rather_than_guessed() {
    let server = shop().await;
    let body = r#"{"part": "WLa20-2.4", "quantity": 1, "at": "2026-06-15T08:00:00"}"#;
    post(&server, "/v1/receipts", body).await;
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_field_is_told_with_the_fields_there_are() {
    let server = shop().await;
    for path in [
        "/v1/receipts",
        "/v1/counts",
        "/v1/movements",
        "/v1/usage",
        "/v1/parts",
        "/v1/jobs",
    ] {
        let problem = post(&server, path, r#"{"quantitty": 1}"#).await;
        assert!(
            problem.detail.contains("`quantitty`"),
            "{path}: {problem:?}"
        );
        assert!(problem.detail.contains("expected"), "{path}: {problem:?}");
    }
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_field_that_is_given_twice_is_refused() {
    let server = shop().await;
    let body = r#"{"part": "WLa20-2.4", "quantity": 1, "quantity": 2}"#;
    let problem = post(&server, "/v1/receipts", body).await;
    assert!(problem.detail.contains("duplicate field"), "{problem:?}");
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn broken_json_is_told_with_its_place() {
    let server = shop().await;
    let whole = r#"{"part": "WLa20-2.4", "quantity": 1}"#;
    for end in [0, 1, 9, 20, whole.len() - 1] {
        let problem = post(&server, "/v1/receipts", &whole.as_bytes()[..end]).await;
        assert!(problem.detail.contains("line 1"), "{problem:?}");
    }
    let trailing = format!("{whole} and more");
    post(&server, "/v1/receipts", trailing).await;
    let not_text = [b"{\"part\": \"\xff\xfe\", \"quantity\": 1}".as_slice()].concat();
    post(&server, "/v1/receipts", not_text).await;
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn deep_nesting_is_refused_and_the_service_stays_up() {
    let server = shop().await;
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        let deep = 50_000;
        let body = format!("{}1{}", open.repeat(deep), close.repeat(deep));
        post(&server, "/v1/receipts", body).await;
    }
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn only_json_is_taken() {
    let server = shop().await;
    let body = r#"{"part": "WLa20-2.4", "quantity": 1}"#;
    for media_type in [
        "text/plain",
        "text/csv",
        "application/x-www-form-urlencoded",
        "application/xml",
    ] {
        let ask = server.ask("POST", "/v1/receipts").once("K1");
        let heard = ask.text(media_type, body).send().await;
        let problem = heard.problem(ProblemKind::UnsupportedMediaType);
        assert!(problem.detail.contains("application/json"), "{problem:?}");
    }
    let ask = server.ask("POST", "/v1/receipts").once("K1").send().await;
    ask.problem(ProblemKind::UnsupportedMediaType);
    nothing_was_stored(&server).await;
    let ask = server.ask("POST", "/v1/receipts").once("K1");
    let heard = ask
        .text("application/json; charset=utf-8", body)
        .send()
        .await;
    assert_eq!(heard.status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_body_over_the_limit_is_refused_with_the_limit() {
    let server = shop().await;
    let note = "x".repeat(1_048_576);
    let body = json!({"part": "WLa20-2.4", "quantity": 1, "note": note});
    let heard = server
        .ask("POST", "/v1/receipts")
        .once("K1")
        .json(&body)
        .send()
        .await;
    let problem = heard.problem(ProblemKind::TooLarge);
    assert!(problem.detail.contains("1048576"), "{problem:?}");
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_record_without_an_idempotency_key_is_refused() {
    let server = shop().await;
    for path in [
        "/v1/movements",
        "/v1/receipts",
        "/v1/counts",
        "/v1/usage",
        "/v1/reversals",
        "/v1/orders",
        "/v1/jobs/R-1/orders",
        "/v1/orders/1/receive",
    ] {
        let heard = server.ask("POST", path).json(&json!({})).send().await;
        let problem = heard.problem(ProblemKind::PreconditionRequired);
        assert!(problem.detail.contains("Idempotency-Key"), "{problem:?}");
        assert!(problem.detail.contains("UUID"), "{problem:?}");
    }
    nothing_was_stored(&server).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_idempotency_key_is_1_to_80_visible_characters_wherever_it_is_taken() {
    let server = shop().await;
    let order =
        json!({"supplier": "nobody", "lines": [{"part": "WLa20-2.4", "pack_size": 1, "packs": 1}]});
    let bodies = [
        ("/v1/receipts", json!({"part": "WLa20-2.4", "quantity": 1})),
        ("/v1/counts", json!({"part": "WLa20-2.4", "counted": 1})),
        ("/v1/usage", json!({"part": "WLa20-2.4", "what": "took"})),
        (
            "/v1/movements",
            json!({"part": "WLa20-2.4", "kind": "scrap", "quantity": 1}),
        ),
        (
            "/v1/reversals",
            json!({"entry": "01890a5d-ac96-774b-bcce-b302099a8057"}),
        ),
        ("/v1/orders", order),
        ("/v1/jobs/R-1/orders", json!({})),
        ("/v1/orders/1/receive", json!({})),
    ];
    for (path, body) in bodies {
        for key in [
            String::new(),
            "\"\"".to_owned(),
            "a b".to_owned(),
            "x".repeat(81),
        ] {
            let heard = server.ask("POST", path).once(&key).json(&body).send().await;
            let problem = heard.problem(ProblemKind::Invalid);
            assert_eq!(
                problem.violations[0].pointer, "Idempotency-Key",
                "{path} {key}: {problem:?}"
            );
        }
    }
    nothing_was_stored(&server).await;
    let ask = server.ask("POST", "/v1/usage").once(&"x".repeat(80));
    let heard = ask
        .json(&json!({"part": "WLa20-2.4", "what": "took"}))
        .send()
        .await;
    assert_eq!(heard.status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_or_unreadable_query_field_is_refused() {
    let server = shop().await;
    for query in [
        "/v1/parts?limitt=2",
        "/v1/parts?limit=two",
        "/v1/parts?limit=-1",
        "/v1/parts?limit=1&limit=2",
        "/v1/stock?part=WLa20-2.4",
        "/v1/movements?supplier=quayhead",
        "/v1/forecasts?hours=34",
        "/v1/forecasts?cover_days=soon&arc=1h",
        "/v1/jobs/R-1/needs?then=2026-06-15T08:00:00Z",
    ] {
        let heard = server.ask("GET", query).send().await;
        let problem = heard.problem(ProblemKind::MalformedRequest);
        assert!(!problem.violations.is_empty(), "{query}: {problem:?}");
    }
    let heard = server.ask("GET", "/v1/parts?limitt=2").send().await;
    let problem = heard.problem(ProblemKind::MalformedRequest);
    assert!(
        problem.detail.contains("limitt") && problem.detail.contains("`limit`"),
        "{problem:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cursor_that_is_none_is_refused() {
    let server = shop().await;
    for list in ["keys", "offers", "orders", "movements", "counts", "usage"] {
        let heard = server
            .ask("GET", &format!("/v1/{list}?after=there"))
            .send()
            .await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(
            problem.violations[0].pointer, "?after",
            "{list}: {problem:?}"
        );
        assert!(problem.detail.contains("there"), "{list}: {problem:?}");
    }
}
