//! Every kind of problem there is, reached by a request and well formed. What is wrong with each
//! field is tested in `bad_input`.

use std::collections::BTreeSet;

use sea_orm::ConnectionTrait;
use serde_json::json;
use tigstock_tests::builders::electrode;
use tigstock_tests::raw::Heard;
use tigstock_tests::{TestServer, shop};
use types::{ProblemKind, Role};

/// A request that ends in that kind of problem.
async fn reach(server: &TestServer, kind: ProblemKind) -> Heard {
    let part =
        json!({"code": "WLa20-2.4", "kind": "electrode", "class": "WLa20", "diameter": "2.4 mm"});
    let usage = json!({"what": "took", "part": "WLa20-2.4"});
    let get = |path: &str| server.ask("GET", path);
    let post = |path: &str| server.ask("POST", path);
    let ask = match kind {
        ProblemKind::MalformedRequest => post("/v1/parts").text("application/json", "{"),
        ProblemKind::Unauthenticated => server.ask_without_key("GET", "/v1/parts"),
        ProblemKind::Forbidden => server
            .ask_as(server.key(Role::Read), "POST", "/v1/parts")
            .json(&part),
        ProblemKind::NotFound => get("/v1/parts/nothing"),
        ProblemKind::MethodNotAllowed => server.ask("PATCH", "/v1/parts"),
        ProblemKind::AlreadyExists => post("/v1/parts").json(&part),
        ProblemKind::InUse => server.ask("DELETE", "/v1/parts/WLa20-2.4").if_match(1),
        ProblemKind::WrongState => post("/v1/jobs/R-1/orders").once("draft"),
        ProblemKind::Stale => server.ask("DELETE", "/v1/parts/WLa20-2.4").if_match(9),
        ProblemKind::TooLarge => post("/v1/parts").text("application/json", vec![b' '; 1_048_577]),
        ProblemKind::UnsupportedMediaType => post("/v1/parts").text("text/plain", part.to_string()),
        ProblemKind::Invalid => post("/v1/usage").once("K2").json(&json!({})),
        ProblemKind::KeyReused => post("/v1/usage")
            .once("K1")
            .json(&json!({"what": "lost", "part": "WLa20-2.4"})),
        ProblemKind::PreconditionRequired => post("/v1/usage").json(&usage),
        ProblemKind::Internal => {
            let gone = "ALTER TABLE offers RENAME TO gone";
            server
                .context
                .store
                .read()
                .execute_unprepared(gone)
                .await
                .expect("it is gone");
            get("/v1/offers")
        }
        ProblemKind::Unavailable => {
            server
                .context
                .store
                .clone()
                .close()
                .await
                .expect("it closes");
            get("/v1/parts")
        }
    };
    ask.send().await
}

/// A part that is in use, a key that was used, and a job that cannot be weighed.
async fn prepared() -> TestServer {
    let server = TestServer::start().await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let usage = shop::taken("WLa20-2.4");
    server
        .owner
        .record_usage(&usage, "K1")
        .await
        .expect("it is taken");
    server.torch("T1", &[]).await;
    let job = json!({"code": "R-1", "torch": "T1", "arc_minutes": 60, "start": "2099-07-01"});
    let made = server.ask("POST", "/v1/jobs").json(&job).send().await;
    assert_eq!(made.status, 201, "{}", made.text());
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn every_kind_of_problem_is_reached_and_well_formed() {
    let server = prepared().await;
    let mut instances = BTreeSet::new();
    for kind in ProblemKind::ALL {
        let problem = reach(&server, *kind).await.problem(*kind);
        assert!(instances.insert(problem.instance), "each has its own id");
    }
    assert_eq!(instances.len(), ProblemKind::ALL.len());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_fault_of_the_service_is_not_told_beyond_its_id() {
    let server = prepared().await;
    let heard = reach(&server, ProblemKind::Internal).await;
    let problem = heard.problem(ProblemKind::Internal);
    for inside in ["offers", "table", "SQL", "sqlx", "sea"] {
        assert!(!problem.detail.contains(inside), "{problem:?}");
    }
    assert!(problem.detail.contains("log"), "{problem:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_service_without_its_database_says_when_to_try_again() {
    let server = prepared().await;
    let heard = reach(&server, ProblemKind::Unavailable).await;
    assert_eq!(heard.header("Retry-After"), "1");
    let ready = server.ask_without_key("GET", "/readyz").send().await;
    ready.problem(ProblemKind::Unavailable);
    let usage = json!({"what": "took", "part": "WLa20-2.4"});
    let ask = server.ask("POST", "/v1/usage").once("K9").json(&usage);
    ask.send().await.problem(ProblemKind::Unavailable);
    // It lives all the same.
    let lives = server.ask_without_key("GET", "/healthz").send().await;
    assert_eq!(lives.status, 200);
}

#[test]
fn no_two_kinds_have_the_same_type_or_title() {
    let types: BTreeSet<String> = ProblemKind::ALL.iter().map(|kind| kind.uri()).collect();
    let titles: BTreeSet<&str> = ProblemKind::ALL.iter().map(|kind| kind.title()).collect();
    assert_eq!(
        (types.len(), titles.len()),
        (ProblemKind::ALL.len(), ProblemKind::ALL.len())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_that_may_only_be_read_is_told_with_what_to_do_and_reading_goes_on() {
    let server = TestServer::start().await;
    server.stocked(electrode("WLa20-2.4", "2.4 mm"), 3).await;
    let setting = match server.database().file() {
        Some(_) => "PRAGMA query_only = ON",
        None => "SET default_transaction_read_only = on",
    };
    let locked = server.context.writer.write(move |tx| {
        Box::pin(async move {
            let done = tx.execute_unprepared(setting).await;
            done.map(|_| ())
                .map_err(|error| server::service::Error::Internal(error.to_string()))
        })
    });
    locked.await.expect("a pragma");
    let taken = json!({"what": "took", "part": "WLa20-2.4"});
    let post = async || {
        let ask = server.ask("POST", "/v1/usage").once("K1").json(&taken);
        ask.send().await
    };
    let heard = post().await;
    let problem = heard.problem(ProblemKind::Unavailable);
    assert_eq!(heard.header("Retry-After"), "1");
    for words in ["may only be read", "Nothing was recorded", "same key"] {
        assert!(problem.detail.contains(words), "{}", problem.detail);
    }
    assert_eq!(server.on_hand("WLa20-2.4").await, 3);
    // The next one finds a connection that may write.
    assert_eq!(post().await.status, 201);
    assert_eq!(server.on_hand("WLa20-2.4").await, 2);
}
