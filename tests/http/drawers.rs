//! Drawers: places of a site with the parts that lie in them.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{AtSite, Drawer, ListDrawers, NewSite, ProblemKind};

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.part(collet("collet-2.4")).await;
    server
}

async fn school(server: &TestServer) {
    let school = NewSite {
        code: "school".to_owned(),
        name: None,
        zone: "UTC".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&school).await.expect("a site");
}

async fn set_up(server: &TestServer, body: &Value) -> Drawer {
    let heard = server.ask("POST", "/v1/drawers").json(body).send().await;
    assert_eq!(heard.status, 201, "{}", heard.text());
    heard.read()
}

#[tokio::test(flavor = "multi_thread")]
async fn drawers_are_listed_as_people_number_them() {
    let server = shop().await;
    for code in ["10", "2", "1", "10b", "A1", "9"] {
        set_up(&server, &json!({"code": code, "parts": []})).await;
    }
    let page = server.owner.list_drawers(&ListDrawers::default()).await;
    let codes: Vec<String> = page
        .unwrap()
        .drawers
        .into_iter()
        .map(|it| it.code)
        .collect();
    assert_eq!(codes, ["1", "2", "9", "10", "10b", "A1"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_drawer_keeps_the_order_of_its_parts_and_says_where_it_stands() {
    let server = shop().await;
    let made = set_up(
        &server,
        &json!({"code": "14", "name": "front ends", "parts": ["wla20-2.4", "collet-2.4"]}),
    )
    .await;
    assert_eq!(made.parts, ["WLa20-2.4", "collet-2.4"]);
    assert_eq!(
        (made.name.as_deref(), made.site.as_deref(), made.version),
        (Some("front ends"), Some("shop"), 1)
    );
    let mut new = made.into_new();
    new.parts.reverse();
    let at = AtSite::default();
    let edited = server.owner.replace_drawer("14", &at, &new, 1).await;
    let edited = edited.expect("it is replaced");
    assert_eq!(edited.parts, ["collet-2.4", "WLa20-2.4"]);
    assert_eq!(edited.version, 2);
    let stale = server.ask("PUT", "/v1/drawers/14").if_match(1);
    let stale = stale.json(&json!({"code": "14", "parts": []})).send().await;
    stale.problem(ProblemKind::Stale);
    assert_eq!(server.owner.get_drawer("14", &at).await.unwrap(), edited);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_sites_may_number_their_drawers_alike() {
    let server = shop().await;
    school(&server).await;
    set_up(&server, &json!({"code": "1", "parts": ["collet-2.4"]})).await;
    let at_school = json!({"code": "1", "site": "school", "parts": ["WLa20-2.4"]});
    set_up(&server, &at_school).await;
    let again = server.ask("POST", "/v1/drawers").json(&at_school);
    again.send().await.problem(ProblemKind::AlreadyExists);
    let at = AtSite {
        site: Some("school".to_owned()),
    };
    let drawer = server.owner.get_drawer("1", &at).await.unwrap();
    assert_eq!(drawer.parts, ["WLa20-2.4"]);
    server.owner.delete_drawer("1", &at, 1).await.unwrap();
    let gone = server.ask("GET", "/v1/drawers/1?site=school").send().await;
    gone.problem(ProblemKind::NotFound);
    let here = server.ask("GET", "/v1/drawers/1").send().await;
    assert_eq!(here.status, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_drawer_is_told_by_its_field() {
    let server = shop().await;
    school(&server).await;
    set_up(&server, &json!({"code": "1", "parts": []})).await;
    for (method, path, body, pointer, words) in [
        (
            "POST",
            "/v1/drawers",
            json!({"code": "a b", "parts": []}),
            "/code",
            "a b",
        ),
        (
            "POST",
            "/v1/drawers",
            json!({"code": "2", "parts": ["none"]}),
            "/parts/0",
            "none; set it up",
        ),
        (
            "POST",
            "/v1/drawers",
            json!({"code": "2", "parts": ["collet-2.4", "COLLET-2.4"]}),
            "/parts/1",
            "COLLET-2.4; once",
        ),
        (
            "POST",
            "/v1/drawers",
            json!({"code": "2", "parts": [], "site": "attic"}),
            "/site",
            "attic; list",
        ),
        (
            "PUT",
            "/v1/drawers/1",
            json!({"code": "1", "parts": [], "site": "school"}),
            "/site",
            "school; shop; set up",
        ),
        (
            "PUT",
            "/v1/drawers/1",
            json!({"code": "2", "parts": []}),
            "/code",
            "never changed",
        ),
        (
            "PUT",
            "/v1/drawers/1?site=attic",
            json!({"code": "1", "parts": []}),
            "?site",
            "attic",
        ),
    ] {
        let heard = server
            .ask(method, path)
            .if_match(1)
            .json(&body)
            .send()
            .await;
        let problem = heard.problem(ProblemKind::Invalid);
        let told = &problem.violations[0];
        assert_eq!(told.pointer, pointer, "{problem:?}");
        for word in words.split("; ") {
            assert!(told.detail.contains(word), "{word}: {told:?}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_lies_in_a_drawer_stays_on_record_and_its_stock_says_where_it_lies() {
    let server = shop().await;
    set_up(&server, &json!({"code": "10", "parts": ["collet-2.4"]})).await;
    set_up(&server, &json!({"code": "2", "parts": ["collet-2.4"]})).await;
    assert_eq!(server.stock("collet-2.4").await.drawers, ["2", "10"]);
    assert_eq!(server.stock("WLa20-2.4").await.drawers, [""; 0]);
    let page: Value = server.ask("GET", "/v1/stock").send().await.read();
    assert_eq!(page["stock"][0]["drawers"], json!(["2", "10"]));
    school(&server).await;
    let page: Value = server
        .ask("GET", "/v1/stock?site=school")
        .send()
        .await
        .read();
    assert_eq!(page["stock"][0]["drawers"], json!([]));
    let heard = server.ask("DELETE", "/v1/parts/collet-2.4").if_match(1);
    heard.send().await.problem(ProblemKind::InUse);
}
