//! The reader at `/docs`: it comes from the service alone and needs no internet.

use tigstock_tests::TestServer;

#[tokio::test(flavor = "multi_thread")]
async fn the_reader_and_all_it_loads_come_from_the_service() {
    let server = TestServer::start().await;
    let http = reqwest::Client::new();
    let page = http
        .get(format!("{}/docs", server.url))
        .send()
        .await
        .unwrap();
    assert_eq!(page.status(), 200);
    let page = page.text().await.unwrap();
    let loaded: Vec<&str> = page
        .split(['"', '\''])
        .filter(|part| {
            [".js", ".css", ".png"]
                .iter()
                .any(|end| part.ends_with(end))
        })
        .collect();
    assert!(!loaded.is_empty(), "the page loads nothing:\n{page}");
    for asset in loaded {
        assert!(!asset.contains("//"), "{asset} is elsewhere");
        let url = format!("{}/docs/{}", server.url, asset.trim_start_matches("./"));
        assert_eq!(http.get(&url).send().await.unwrap().status(), 200, "{url}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_served_contract_is_the_one_that_is_committed() {
    let server = TestServer::start().await;
    let answer = reqwest::get(format!("{}/openapi.json", server.url))
        .await
        .unwrap();
    assert_eq!(answer.headers()["content-type"], "application/json");
    assert_eq!(answer.text().await.unwrap(), server::http::openapi::text());
}
