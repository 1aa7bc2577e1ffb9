//! Addresses and methods: what is there, what is not, and what a method answers.

use serde_json::json;
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{Health, ProblemKind};

#[tokio::test(flavor = "multi_thread")]
async fn an_address_that_is_not_there_is_told_as_a_problem() {
    let server = TestServer::start().await;
    for path in [
        "/v1",
        "/v2/parts",
        "/v1/part",
        "/v1/parts/a/b",
        "/v1/parts/",
        "/favicon.ico",
    ] {
        let heard = server.ask("GET", path).send().await;
        let problem = heard.problem(ProblemKind::NotFound);
        assert!(problem.detail.contains("/docs"), "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_name_that_cannot_name_anything_names_nothing() {
    let server = TestServer::start().await;
    for name in [
        "nothing",
        "a%20b",
        "%00",
        "%ff",
        "%2e%2e%2fparts",
        "..%2f",
        "%F0%9F%94%A5",
        "'%20OR%201=1",
        "x%0A",
        "18446744073709551616",
        "-1",
        "1.5",
    ] {
        for list in [
            "parts",
            "torches",
            "kits",
            "drawers",
            "suppliers",
            "jobs",
            "sites",
            "offers",
            "orders",
            "stock",
        ] {
            let path = format!("/v1/{list}/{name}");
            let heard = server.ask("GET", &path).send().await;
            assert_eq!(heard.status, 404, "{path}: {}", heard.text());
            heard.problem(ProblemKind::NotFound);
        }
    }
    let long = format!("/v1/parts/{}", "x".repeat(5_000));
    let heard = server.ask("GET", &long).send().await;
    heard.problem(ProblemKind::NotFound);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_missing_resource_is_told_by_its_name() {
    let server = TestServer::start().await;
    let heard = server.ask("GET", "/v1/parts/WLa20-9.9").send().await;
    let problem = heard.problem(ProblemKind::NotFound);
    assert!(problem.detail.contains("part WLa20-9.9"), "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_method_that_is_not_there_is_told_with_those_that_are() {
    let server = TestServer::start().await;
    for (method, path, allowed) in [
        ("PATCH", "/v1/parts", "GET, HEAD, POST"),
        ("DELETE", "/v1/parts", "GET, HEAD, POST"),
        ("POST", "/v1/parts/WLa20-2.4", "GET, HEAD, PUT, DELETE"),
        ("DELETE", "/v1/torches/T1", "GET, HEAD, PUT"),
        ("GET", "/v1/receipts", "POST"),
        ("PUT", "/v1/orders/1", "GET, HEAD"),
        ("GET", "/v1/orders/1/place", "POST"),
        ("GET", "/v1/usage/batch", "POST"),
        ("POST", "/healthz", "GET, HEAD"),
    ] {
        let heard = server.ask(method, path).json(&json!({})).send().await;
        let problem = heard.problem(ProblemKind::MethodNotAllowed);
        assert_eq!(heard.header("Allow"), allowed, "{method} {path}");
        assert!(problem.detail.contains(method), "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn head_answers_as_get_without_a_body() {
    let server = TestServer::start().await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    for path in [
        "/healthz",
        "/v1/parts",
        "/v1/parts/WLa20-2.4",
        "/openapi.json",
    ] {
        let get = server.ask("GET", path).send().await;
        let head = server.ask("HEAD", path).send().await;
        assert_eq!((head.status, head.body.len()), (get.status, 0), "{path}");
        for name in ["Content-Type", "ETag"] {
            assert_eq!(head.header(name), get.header(name), "{path}");
        }
    }
    let head = server.ask("HEAD", "/v1/parts/nothing").send().await;
    assert_eq!((head.status, head.body.len()), (404, 0));
    let head = server.ask_without_key("HEAD", "/v1/parts").send().await;
    assert_eq!(head.status, 401);
}

#[tokio::test(flavor = "multi_thread")]
async fn health_tells_that_it_is_ready_and_which_version_it_is() {
    let server = TestServer::start().await;
    for path in ["/healthz", "/readyz"] {
        let health: Health = server.ask_without_key("GET", path).send().await.read();
        assert_eq!(health.status, "ok");
        assert_eq!(health.version, env!("CARGO_PKG_VERSION"));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_contract_and_its_reader_are_served_to_everybody() {
    let server = TestServer::start().await;
    let contract = server.ask_without_key("GET", "/openapi.json").send().await;
    assert_eq!(contract.text(), server::http::openapi::text());
    let reader = server.ask_without_key("GET", "/docs").send().await;
    assert_eq!((reader.status, reader.header("Location")), (308, "/docs/"));
    let reader = server.ask_without_key("GET", "/docs/").send().await;
    assert_eq!(reader.status, 200);
    assert!(reader.header("Content-Type").starts_with("text/html"));
}

#[tokio::test(flavor = "multi_thread")]
async fn no_answer_is_to_be_sniffed() {
    let server = TestServer::start().await;
    for path in ["/healthz", "/v1/parts", "/v1/parts/nothing", "/nothing"] {
        let heard = server.ask("GET", path).send().await;
        assert_eq!(heard.header("X-Content-Type-Options"), "nosniff", "{path}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_only_header_that_an_edit_lacks_is_asked_for() {
    let server = TestServer::start().await;
    let part = electrode("WLa20-2.4", "2.4 mm");
    server.part(part.clone()).await;
    let body = serde_json::to_value(&part).unwrap();
    let path = "/v1/parts/WLa20-2.4";
    let put = server.ask("PUT", path).json(&body).send().await;
    let problem = put.problem(ProblemKind::PreconditionRequired);
    assert!(problem.detail.contains("If-Match"), "{problem:?}");
    let delete = server.ask("DELETE", path).send().await;
    delete.problem(ProblemKind::PreconditionRequired);
    for not_ours in ["\"abc\"", "W/\"1\"", "*", "", "\"1\", \"2\""] {
        let ask = server.ask("PUT", path).header("If-Match", not_ours);
        ask.json(&body).send().await.problem(ProblemKind::Stale);
    }
    let put = server.ask("PUT", path).if_match(1).json(&body).send().await;
    assert_eq!(put.status, 200);
}
