//! What every resource has in common: made, read, replaced with the version that was read, removed
//! unless something refers to it. One row of the table is one resource; what a resource has of its
//! own is in its own file.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{NewCount, Problem, ProblemKind, UNDO_MINUTES};

/// A resource: its list, what makes one, a field with another value for an edit, and what refers to
/// it (a list and a body), where anything can.
struct Resource {
    list: &'static str,
    body: Value,
    edit: (&'static str, Value),
    is_deletable: bool,
}

fn resources() -> Vec<Resource> {
    let row = |list, body, edit, is_deletable| Resource {
        list,
        body,
        edit,
        is_deletable,
    };
    vec![
        row(
            "sites",
            json!({"code": "School", "zone": "America/Halifax"}),
            ("name", json!("Tarnbridge")),
            false,
        ),
        row(
            "parts",
            json!({"code": "O-Ring", "kind": "o-ring", "family": "large"}),
            ("note", json!("top drawer")),
            true,
        ),
        row(
            "torches",
            json!({"code": "T7", "family": "small"}),
            ("family", json!("large")),
            false,
        ),
        row(
            "kits",
            json!({"code": "K-24G", "parts": [{"part": "WLa20-2.4", "quantity": 2}]}),
            ("parts", json!([{"part": "collet-2.4", "quantity": 1}])),
            true,
        ),
        row(
            "suppliers",
            json!({"code": "Millrace", "currency": "CAD", "lead_time_days": 5}),
            ("cut_off", json!("14:30")),
            false,
        ),
        row(
            "offers",
            json!({"supplier": "quayhead", "part": "WLa20-2.4", "pack_size": 5, "price_minor": 2500}),
            ("price_minor", json!(2600)),
            true,
        ),
        row(
            "jobs",
            json!({"code": "R-118", "torch": "T1", "arc_minutes": 2040, "start": "2026-06-26"}),
            ("start", json!("2026-06-29")),
            true,
        ),
        row(
            "current-bands",
            json!({
                "diameter": "2.4 mm", "polarity": "DCEN", "amps_min": 60, "amps_max": 160,
                "source": "own trials, invented",
            }),
            ("amps_max", json!(170)),
            true,
        ),
        row(
            "lulls",
            json!({"first": "2026-12-24", "last": "2027-01-03", "share": 0.0, "note": "holidays"}),
            ("share", json!(0.25)),
            true,
        ),
    ]
}

async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    server.part(collet("collet-2.4")).await;
    server.torch("T1", &["WLa20-2.4"]).await;
    let quayhead = json!({"code": "quayhead", "currency": "CAD", "lead_time_days": 1});
    let made = server.ask("POST", "/v1/suppliers").json(&quayhead);
    assert_eq!(made.send().await.status, 201);
    server
}

impl Resource {
    /// Makes it and gives its address.
    async fn make(&self, server: &TestServer) -> String {
        let ask = server.ask("POST", &format!("/v1/{}", self.list));
        let heard = ask.json(&self.body).send().await;
        assert_eq!(heard.status, 201, "{}: {}", self.list, heard.text());
        assert_eq!(heard.header("ETag"), "\"1\"", "{}", self.list);
        heard.header("Location").to_owned()
    }

    fn edited(&self) -> Value {
        let mut body = self.body.clone();
        body[self.edit.0] = self.edit.1.clone();
        body
    }
}

/// Whether every field of a body came back, codes and lists as they were given.
fn holds(found: &Value, body: &Value) -> bool {
    let body = body.as_object().expect("an object");
    body.iter().all(|(field, value)| found[field] == *value)
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_made_is_read_back_at_its_location() {
    let server = shop().await;
    for resource in resources() {
        let place = resource.make(&server).await;
        let prefix = format!("/v1/{}/", resource.list);
        assert!(place.starts_with(&prefix), "{place}");
        let heard = server.ask("GET", &place).send().await;
        assert_eq!((heard.status, heard.header("ETag")), (200, "\"1\""));
        let found: Value = heard.read();
        assert!(holds(&found, &resource.body), "{found}");
        assert_eq!(found["version"], 1);
        let list = server.ask("GET", &format!("/v1/{}", resource.list));
        let list: Value = list.send().await.read();
        let rows = list[resource.list.replace('-', "_")]
            .as_array()
            .expect("rows");
        assert!(rows.contains(&found), "{list}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn codes_compare_without_case() {
    let server = shop().await;
    for resource in resources().iter().filter(|it| it.body["code"].is_string()) {
        let place = resource.make(&server).await;
        let code = resource.body["code"].as_str().expect("a code");
        let lower = format!("/v1/{}/{}", resource.list, code.to_lowercase());
        let heard = server.ask("GET", &lower).send().await;
        let found: Value = heard.read();
        assert_eq!(found["code"], code, "{place}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_name_that_is_taken_is_a_conflict_in_any_case() {
    let server = shop().await;
    for resource in resources() {
        resource.make(&server).await;
        let mut again = resource.body.clone();
        if let Some(code) = resource.body["code"].as_str() {
            again["code"] = json!(code.to_uppercase());
        }
        let ask = server.ask("POST", &format!("/v1/{}", resource.list));
        let problem = ask.json(&again).send().await;
        let problem = problem.problem(ProblemKind::AlreadyExists);
        assert!(problem.detail.contains("already there"), "{problem:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_replacement_takes_the_version_that_was_read_and_gives_the_next() {
    let server = shop().await;
    for resource in resources() {
        let place = resource.make(&server).await;
        let edited = resource.edited();
        let ask = server.ask("PUT", &place).if_match(1).json(&edited);
        let heard = ask.send().await;
        assert_eq!(heard.status, 200, "{place}: {}", heard.text());
        assert_eq!(heard.header("ETag"), "\"2\"", "{place}");
        let found: Value = server.ask("GET", &place).send().await.read();
        assert!(holds(&found, &edited), "{found}");
        assert_eq!(found["version"], 2);
        assert_eq!(heard.read::<Value>(), found);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_replacement_leaves_out_is_gone() {
    let server = shop().await;
    let full = json!({"code": "O-Ring", "kind": "o-ring", "family": "large", "note": "top drawer",
        "starting_assumptions": [{"per": "arc-hour", "shape": 0.5, "rate": 50.0}]});
    let made = server.ask("POST", "/v1/parts").json(&full).send().await;
    assert_eq!(made.status, 201);
    let bare = json!({"code": "O-Ring", "kind": "o-ring", "family": "large"});
    let ask = server.ask("PUT", "/v1/parts/O-Ring").if_match(1);
    let found: Value = ask.json(&bare).send().await.read();
    assert!(found.get("note").is_none(), "{found}");
    assert!(found.get("starting_assumptions").is_none(), "{found}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edit_of_an_older_version_is_refused_and_changes_nothing() {
    let server = shop().await;
    for resource in resources() {
        let place = resource.make(&server).await;
        let edited = resource.edited();
        let ask = server.ask("PUT", &place).if_match(1).json(&edited);
        assert_eq!(ask.send().await.status, 200, "{place}");
        let ask = server.ask("PUT", &place).if_match(1).json(&resource.body);
        let problem = ask.send().await.problem(ProblemKind::Stale);
        assert!(problem.detail.contains("version 2"), "{problem:?}");
        let found: Value = server.ask("GET", &place).send().await.read();
        assert!(holds(&found, &edited), "{found}");
        if resource.is_deletable {
            let ask = server.ask("DELETE", &place).if_match(1).send().await;
            ask.problem(ProblemKind::Stale);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edit_without_the_version_is_refused() {
    let server = shop().await;
    for resource in resources() {
        let place = resource.make(&server).await;
        let ask = server.ask("PUT", &place).json(&resource.edited());
        ask.send().await.problem(ProblemKind::PreconditionRequired);
        if resource.is_deletable {
            let ask = server.ask("DELETE", &place).send().await;
            ask.problem(ProblemKind::PreconditionRequired);
        }
        let found: Value = server.ask("GET", &place).send().await.read();
        assert_eq!(found["version"], 1);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_there_cannot_be_replaced_or_removed() {
    let server = shop().await;
    for resource in resources() {
        let place = format!("/v1/{}/nothing", resource.list);
        let mut body = resource.body.clone();
        if body.get("code").is_some() {
            body["code"] = json!("nothing");
        }
        let ask = server.ask("PUT", &place).if_match(1).json(&body);
        ask.send().await.problem(ProblemKind::NotFound);
        if resource.is_deletable {
            let ask = server.ask("DELETE", &place).if_match(1).send().await;
            ask.problem(ProblemKind::NotFound);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_removed_is_gone_and_its_name_is_free() {
    let server = shop().await;
    for resource in resources().iter().filter(|it| it.is_deletable) {
        let place = resource.make(&server).await;
        let heard = server.ask("DELETE", &place).if_match(1).send().await;
        assert_eq!((heard.status, heard.body.len()), (204, 0), "{place}");
        let gone = server.ask("GET", &place).send().await;
        gone.problem(ProblemKind::NotFound);
        resource.make(&server).await;
    }
}

/// Removes the only version of something and gives the refusal.
async fn in_use(server: &TestServer, place: &str, version: i64) -> Problem {
    let ask = server.ask("DELETE", place).if_match(version);
    let problem = ask.send().await.problem(ProblemKind::InUse);
    let there = server.ask("GET", place).send().await;
    assert_eq!(there.status, 200, "{place}");
    problem
}

#[tokio::test(flavor = "multi_thread")]
async fn what_something_refers_to_cannot_be_removed() {
    let server = shop().await;
    for resource in resources() {
        resource.make(&server).await;
    }
    let job = json!({"code": "R-200", "kit": "K-24G", "weeks": 1.0, "start": "2026-07-01"});
    let made = server.ask("POST", "/v1/jobs").json(&job).send().await;
    assert_eq!(made.status, 201, "{}", made.text());
    let logged = json!({"torch": "T1", "arc_minutes": 75, "job": "R-118"});
    let ask = server.ask("POST", "/v1/usage").once("log").json(&logged);
    assert_eq!(ask.send().await.status, 201);
    // A kit that a job needs, a part that is fitted, a job that something was logged for.
    in_use(&server, "/v1/kits/K-24G", 1).await;
    in_use(&server, "/v1/parts/WLa20-2.4", 1).await;
    let problem = in_use(&server, "/v1/jobs/R-118", 1).await;
    assert!(problem.detail.contains("R-118"), "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_with_a_history_cannot_be_removed_even_when_it_was_taken_back() {
    let server = shop().await;
    let count = NewCount {
        part: "collet-2.4".to_owned(),
        counted: 3,
        ..NewCount::default()
    };
    let counted = server.owner.record_count(&count, "count").await.unwrap();
    in_use(&server, "/v1/parts/collet-2.4", 1).await;
    let back = json!({"entry": counted.entry, "why": format!("within {UNDO_MINUTES} minutes")});
    let ask = server.ask("POST", "/v1/reversals").once("back").json(&back);
    assert_eq!(ask.send().await.status, 201);
    in_use(&server, "/v1/parts/collet-2.4", 1).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_keeps_its_price_when_the_offer_is_gone() {
    let server = shop().await;
    let offers = resources().remove(5);
    let place = offers.make(&server).await;
    let order = json!({"supplier": "quayhead", "lines": [{"part": "WLa20-2.4", "pack_size": 5, "packs": 2}]});
    let ask = server.ask("POST", "/v1/orders").once("order").json(&order);
    let made = ask.send().await;
    assert_eq!(made.status, 201, "{}", made.text());
    let heard = server.ask("DELETE", &place).if_match(1).send().await;
    assert_eq!(heard.status, 204, "{}", heard.text());
    let made: types::Order = made.read();
    let order = server.owner.get_order(made.number).await.unwrap();
    assert_eq!((order.lines[0].cost_minor, order.cost_minor), (5000, 5000));
}
