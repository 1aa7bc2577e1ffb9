//! The reader of the contract: it works without the internet, so all it loads comes from the service.

use std::path::Path;

use reqwest::redirect::Policy;
use reqwest::{Client, Response, StatusCode};
use tigstock_tests::TestServer;

fn browser() -> Client {
    Client::builder()
        .redirect(Policy::none())
        .no_proxy()
        .tls_certs_only([])
        .build()
        .expect("a client")
}

async fn get(server: &TestServer, path: &str) -> Response {
    let request = browser().get(format!("{}{path}", server.url));
    request.send().await.expect("an answer")
}

/// What the attributes of a page point to: what it loads, and where it leads.
fn links(page: &str) -> Vec<String> {
    let mut links = Vec::new();
    for attribute in ["src=\"", "href=\""] {
        for rest in page.split(attribute).skip(1) {
            let link = rest.split('"').next().expect("a part");
            links.push(link.to_owned());
        }
    }
    links
}

fn is_a(kind: &str, link: &str) -> bool {
    Path::new(link).extension().is_some_and(|it| it == kind)
}

#[tokio::test(flavor = "multi_thread")]
async fn the_short_address_leads_to_the_page() {
    let server = TestServer::start().await;
    let answer = get(&server, "/docs").await;
    assert_eq!(answer.status(), StatusCode::PERMANENT_REDIRECT);
    assert_eq!(answer.headers()["location"], "/docs/");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_page_and_all_that_it_loads_come_from_the_service() {
    let server = TestServer::start().await;
    let answer = get(&server, "/docs/").await;
    assert_eq!(answer.status(), StatusCode::OK);
    let media_type = answer.headers()["content-type"].to_str().expect("text");
    assert!(media_type.starts_with("text/html"), "{media_type}");
    let page = answer.text().await.expect("a page");
    let links = links(&page);
    assert!(links.iter().any(|link| is_a("js", link)), "{links:?}");
    for link in links {
        assert!(!link.contains("//"), "{link} is elsewhere");
        let path = format!("/docs/{}", link.trim_start_matches("./"));
        let asset = get(&server, &path).await;
        assert_eq!(asset.status(), StatusCode::OK, "{path}");
        let body = asset.bytes().await.expect("a body");
        assert!(!body.is_empty(), "{path}");
        if is_a("css", &link) {
            let text = String::from_utf8_lossy(&body);
            let outside = ["url(http", "url(//", "url('http", "url(\"http", "@import"];
            let found = outside.iter().find(|word| text.contains(**word));
            assert_eq!(found, None, "{path}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_page_reads_the_contract_of_this_service_and_asks_no_validator() {
    let server = TestServer::start().await;
    let answer = get(&server, "/docs/swagger-initializer.js").await;
    assert_eq!(answer.status(), StatusCode::OK);
    let script = answer.text().await.expect("a script");
    assert!(script.contains("\"/openapi.json\""), "{script}");
    assert!(script.contains("\"validatorUrl\": \"none\""), "{script}");
    assert!(!script.contains("://"), "{script}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_contract_is_served_as_it_is_committed() {
    let server = TestServer::start().await;
    let answer = get(&server, "/openapi.json").await;
    assert_eq!(answer.status(), StatusCode::OK);
    assert_eq!(answer.headers()["content-type"], "application/json");
    let text = answer.text().await.expect("a document");
    assert_eq!(text, server::http::openapi::text());
}
