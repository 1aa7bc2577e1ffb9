//! Lists, page by page: with two rows a page every list gives every row once, in its order, and no
//! cursor after the last.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use types::{Page, ProblemKind};

/// How many of each there are; it takes three pages of two.
const ROWS: usize = 5;

/// A list, what makes its rows (with `#` for the number of the row), and whether it is newest first.
struct List {
    name: &'static str,
    body: Value,
    is_newest_first: bool,
}

fn list(name: &'static str, body: Value) -> List {
    List {
        name,
        body,
        is_newest_first: matches!(name, "orders" | "movements" | "counts" | "usage"),
    }
}

fn lists() -> Vec<List> {
    vec![
        list("sites", json!({"code": "site-#", "zone": "UTC"})),
        list(
            "parts",
            json!({"code": "o-ring-#", "kind": "o-ring", "family": "large"}),
        ),
        list("torches", json!({"code": "T#", "family": "large"})),
        list(
            "kits",
            json!({"code": "K-#", "parts": [{"part": "o-ring-1"}]}),
        ),
        list("drawers", json!({"code": "#", "parts": ["o-ring-1"]})),
        list(
            "suppliers",
            json!({"code": "supplier-#", "currency": "CAD", "lead_time_days": 1}),
        ),
        list(
            "offers",
            json!({"supplier": "supplier-1", "part": "o-ring-#", "pack_size": 1, "price_minor": 100}),
        ),
        list(
            "jobs",
            json!({"code": "R-#", "torch": "T1", "weeks": 1.0, "start": "2026-07-01"}),
        ),
        list(
            "procedures",
            json!({"code": "PROC-#", "requires": {"classes": ["WLa20"]}}),
        ),
        list(
            "lulls",
            json!({"first": "2026-07-0#", "last": "2026-07-0#", "share": 0.5}),
        ),
        list("keys", json!({"name": "phone #", "role": "read"})),
        list(
            "orders",
            json!({"supplier": "supplier-1", "lines": [{"part": "o-ring-1", "pack_size": 1, "packs": 1}]}),
        ),
        list("receipts", json!({"part": "o-ring-#", "quantity": 1})),
        list("counts", json!({"part": "o-ring-#", "counted": 1})),
        list("usage", json!({"part": "o-ring-#", "what": "took"})),
    ]
}

async fn fill(server: &TestServer) {
    for list in lists() {
        for row in 1..=ROWS {
            let body = list.body.to_string().replace('#', &row.to_string());
            let ask = server.ask("POST", &format!("/v1/{}", list.name));
            let ask = ask.once(&format!("{}-{row}", list.name));
            let heard = ask.text("application/json", body).send().await;
            assert_eq!(heard.status, 201, "{}: {}", list.name, heard.text());
        }
    }
}

/// All pages of a list, two rows a page.
async fn walk(server: &TestServer, name: &str) -> Vec<Vec<Value>> {
    let mut pages = Vec::new();
    let mut after = String::new();
    loop {
        let path = format!("/v1/{name}?limit=2{after}");
        let page: Value = server.ask("GET", &path).send().await.read();
        pages.push(page[name].as_array().expect("rows").clone());
        let Some(next) = page.get("next") else {
            return pages;
        };
        after = format!("&after={}", next.as_str().expect("a cursor"));
        assert!(pages.len() < 20, "{name} never ends");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_list_gives_every_row_once_two_at_a_time() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    fill(&server).await;
    for name in ["movements", "stock"]
        .into_iter()
        .chain(lists().iter().map(|list| list.name))
    {
        if name == "receipts" {
            continue;
        }
        let whole: Value = server
            .ask("GET", &format!("/v1/{name}?limit=500"))
            .send()
            .await
            .read();
        assert!(whole.get("next").is_none(), "{name}");
        let whole = whole[name].as_array().expect("rows");
        assert!(whole.len() >= ROWS, "{name}: {}", whole.len());
        let pages = walk(&server, name).await;
        assert!(pages.iter().all(|page| page.len() <= 2), "{name}");
        assert_eq!(pages.concat(), *whole, "{name}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn lists_of_what_happened_are_newest_first_and_lists_of_names_by_name() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    fill(&server).await;
    for list in lists().iter().filter(|list| list.name != "receipts") {
        let page: Value = server
            .ask("GET", &format!("/v1/{}", list.name))
            .send()
            .await
            .read();
        let rows = page[list.name].as_array().expect("rows");
        let names: Vec<String> = rows
            .iter()
            .map(|row| {
                let field = ["code", "name", "number", "entry", "id"]
                    .iter()
                    .find(|field| row.get(**field).is_some());
                let value = &row[*field.expect("a name")];
                value
                    .as_str()
                    .map_or_else(|| format!("{value:0>9}"), str::to_owned)
            })
            .collect();
        let mut sorted = names.clone();
        sorted.sort();
        if list.is_newest_first {
            sorted.reverse();
        }
        if list.name != "keys" && list.name != "offers" {
            assert_eq!(names, sorted, "{}", list.name);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_narrowed_to_a_part_or_a_torch() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    fill(&server).await;
    for (query, name, rows) in [
        ("movements?part=o-ring-1", "movements", 2),
        ("movements?part=o-ring-1&limit=1", "movements", 1),
        ("counts?part=O-RING-2", "counts", 1),
        ("usage?torch=T1", "usage", 0),
        ("movements?torch=T1", "movements", 0),
    ] {
        let page: Value = server
            .ask("GET", &format!("/v1/{query}"))
            .send()
            .await
            .read();
        assert_eq!(page[name].as_array().expect("rows").len(), rows, "{query}");
    }
    for query in [
        "movements?part=nothing",
        "counts?part=nothing",
        "usage?torch=T9",
        "movements?torch=T9",
    ] {
        let heard = server.ask("GET", &format!("/v1/{query}")).send().await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert!(
            problem.violations[0].pointer.starts_with('?'),
            "{problem:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_limit_beyond_its_bounds_is_brought_within_them() {
    let server = TestServer::start().await;
    for row in 0..3 {
        server
            .part(electrode(&format!("part-{row}"), "2.4 mm"))
            .await;
    }
    for (limit, rows) in [(0, 1), (1, 1), (501, 3), (u64::MAX >> 1, 3)] {
        let page = Page {
            limit: Some(limit),
            after: None,
        };
        let found = server.owner.list_parts(&page).await.unwrap();
        assert_eq!(found.parts.len(), rows, "{limit}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_row_that_comes_in_while_a_list_is_walked_moves_no_other() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    fill(&server).await;
    let first: Value = server.ask("GET", "/v1/usage?limit=2").send().await.read();
    server.take("o-ring-1", "late").await;
    let next = first["next"].as_str().expect("more");
    let rest: Value = server
        .ask("GET", &format!("/v1/usage?limit=500&after={next}"))
        .send()
        .await
        .read();
    let entries = |page: &Value| -> Vec<Value> {
        page["usage"]
            .as_array()
            .expect("rows")
            .iter()
            .map(|row| row["entry"].clone())
            .collect()
    };
    let mut seen = entries(&first);
    seen.extend(entries(&rest));
    seen.dedup();
    assert_eq!(seen.len(), ROWS);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_client_walks_a_list_to_its_end() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    fill(&server).await;
    let start = Page {
        limit: Some(2),
        after: None,
    };
    let owner = &server.owner;
    let parts = client::every(start, async |page| owner.list_parts(&page).await).await;
    let codes: Vec<String> = parts.unwrap().into_iter().map(|part| part.code).collect();
    assert_eq!(
        codes,
        ["o-ring-1", "o-ring-2", "o-ring-3", "o-ring-4", "o-ring-5"]
    );
}
