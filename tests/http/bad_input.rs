//! What is wrong with a request is told with the field, the value and a remedy, and nothing is
//! stored. The mistakes are in tables, one file a subject; here they are sent.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{Page, ProblemKind};

mod bands;
mod courses;
mod ledger;
mod lulls;
mod parts;
mod plans;
mod usage;
mod welds;

/// A request that is right, and the mistakes that can be made in it.
struct Table {
    path: &'static str,
    right: Value,
    mistakes: Vec<Mistake>,
}

/// A field, what is wrongly put there, the field that is told, and the words of value and remedy
/// that must be told with it, with semicolons between them.
type Mistake = (&'static str, Value, &'static str, &'static str);

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 3).await;
    server.part(collet("collet-2.4")).await;
    server.torch("T1", &["WLa20-2.4", "collet-2.4"]).await;
    let yard = json!({"code": "yard", "zone": "America/Halifax"});
    let made = server.ask("POST", "/v1/sites").json(&yard).send().await;
    assert_eq!(made.status, 201);
    let kit = json!({"code": "K-0", "parts": [{"part": "WLa20-2.4"}]});
    let made = server.ask("POST", "/v1/kits").json(&kit).send().await;
    assert_eq!(made.status, 201);
    let quayhead = json!({"code": "quayhead", "currency": "CAD", "lead_time_days": 1});
    let made = server.ask("POST", "/v1/suppliers").json(&quayhead);
    assert_eq!(made.send().await.status, 201);
    let offer =
        json!({"supplier": "quayhead", "part": "WLa20-2.4", "pack_size": 10, "price_minor": 4200});
    let made = server.ask("POST", "/v1/offers").json(&offer).send().await;
    assert_eq!(made.status, 201);
    server
}

/// Everything that a mistake could have left behind.
async fn everything(server: &TestServer) -> Vec<String> {
    let lists = [
        "sites",
        "parts",
        "torches",
        "kits",
        "suppliers",
        "offers",
        "jobs",
        "orders",
        "counts",
        "courses",
        "current-bands",
        "lulls?site=yard",
        "usage",
        "movements",
        "stubs",
        "stock",
    ];
    let mut all = Vec::new();
    for list in lists {
        let heard = server.ask("GET", &format!("/v1/{list}")).send().await;
        assert_eq!(heard.status, 200, "{list}");
        all.push(heard.text());
    }
    all
}

/// Makes every mistake, then sends each request as it is right.
async fn every_mistake_is_told(tables: Vec<Table>) {
    let server = shop().await;
    let before = everything(&server).await;
    for table in &tables {
        for (index, mistake) in table.mistakes.iter().enumerate() {
            let key = format!("{index}{}", table.path.replace('/', "-"));
            told(&server, table, mistake, &key).await;
        }
    }
    assert_eq!(everything(&server).await, before);
    for (index, Table { path, right, .. }) in tables.iter().enumerate() {
        let ask = server.ask("POST", path).once(&format!("right-{index}"));
        let heard = ask.json(right).send().await;
        assert!(
            matches!(heard.status, 200 | 201),
            "{path} {right}: {}",
            heard.text()
        );
    }
}

async fn told(server: &TestServer, table: &Table, mistake: &Mistake, key: &str) {
    let (field, value, pointer, words) = mistake;
    let mut body = table.right.clone();
    body[field] = value.clone();
    let ask = server.ask("POST", table.path).once(key);
    let heard = ask.json(&body).send().await;
    assert_eq!(heard.status, 422, "{body}: {}", heard.text());
    let problem = heard.problem(ProblemKind::Invalid);
    let mut told = problem.violations.iter();
    let told = told.find(|it| it.pointer == *pointer);
    let told = told.unwrap_or_else(|| panic!("{body}: no {pointer}: {problem:?}"));
    for word in words.split("; ") {
        assert!(told.detail.contains(word), "{body}: no {word}: {told:?}");
    }
    assert!(problem.detail.contains(&told.detail), "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_part_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(parts::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_current_band_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(bands::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_lull_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(lulls::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn wrong_use_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(usage::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_entry_of_the_ledger_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(ledger::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_plan_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(plans::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_course_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(courses::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_weld_list_is_told_by_its_field_and_not_stored() {
    every_mistake_is_told(welds::tables()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_course_without_its_size_is_told_what_is_missing() {
    let server = shop().await;
    for field in ["heads", "stations", "kit", "starts"] {
        let mut body = courses::right();
        body.as_object_mut().expect("an object").remove(field);
        let heard = server.ask("POST", "/v1/courses").json(&body).send().await;
        assert!(
            matches!(heard.status, 400 | 422),
            "{field}: {}",
            heard.text()
        );
        assert!(heard.text().contains(field), "{field}: {}", heard.text());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reversal_of_nothing_is_told_by_its_field() {
    let server = shop().await;
    let entry = "01890a5d-ac96-774b-bcce-b302099a8057";
    for (body, pointer) in [
        (json!({ "entry": entry }), "/entry"),
        (json!({"entry": entry, "why": "x".repeat(401)}), "/why"),
    ] {
        let ask = server.ask("POST", "/v1/reversals").once("back");
        let problem = ask.json(&body).send().await;
        let problem = problem.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_ends_of_the_range_of_dates_and_quantities_are_taken() {
    let server = shop().await;
    for (index, (field, value)) in [
        ("at", json!("2026-06-15T08:10:00-03:00")),
        ("at", json!("2026-03-17T08:00:00-03:00")),
        ("qty", json!(1)),
        ("qty", json!(10_000)),
    ]
    .into_iter()
    .enumerate()
    {
        let mut body = json!({"what": "took", "part": "WLa20-2.4"});
        body[field] = value;
        let ask = server
            .ask("POST", "/v1/usage")
            .once(&format!("key-{index}"));
        let heard = ask.json(&body).send().await;
        assert_eq!(heard.status, 201, "{body}: {}", heard.text());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn all_mistakes_of_a_request_are_told_at_once() {
    let server = shop().await;
    let body = json!({"code": "a b", "kind": "electrode", "class": "gold", "diameter": "2.45"});
    let heard = server.ask("POST", "/v1/parts").json(&body).send().await;
    let problem = heard.problem(ProblemKind::Invalid);
    let pointers: Vec<&str> = problem.violations.iter().map(|it| &*it.pointer).collect();
    assert_eq!(pointers, ["/code", "/class", "/diameter"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_replacement_keeps_the_code_in_the_address() {
    let server = shop().await;
    let body = json!({"code": "new", "kind": "electrode", "class": "WLa20", "diameter": "2.4 mm"});
    let ask = server.ask("PUT", "/v1/parts/WLa20-2.4").if_match(1);
    let heard = ask.json(&body).send().await;
    let problem = heard.problem(ProblemKind::Invalid);
    assert_eq!(problem.violations[0].pointer, "/code");
    let parts = server.owner.list_parts(&Page::default()).await.unwrap();
    assert_eq!(parts.parts.len(), 2);
}
