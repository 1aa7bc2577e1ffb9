//! Who may call what. The contract says which role an operation needs, so every operation is walked,
//! none is listed by hand, and a new one cannot be forgotten.

use serde_json::{Value, json};
use tigstock_tests::raw::Ask;
use tigstock_tests::{TestServer, raw::Heard};
use types::{Problem, ProblemKind, Role};

/// An operation of the contract: method, path with its names filled in, and the role it needs.
struct Operation {
    method: String,
    path: String,
    role: Option<Role>,
}

/// Every operation of the contract.
fn operations() -> Vec<Operation> {
    let document: Value = serde_json::from_str(&server::http::openapi::text()).expect("JSON");
    let paths = document["paths"].as_object().expect("paths");
    let mut operations = Vec::new();
    for (path, methods) in paths {
        for (method, operation) in methods.as_object().expect("methods") {
            operations.push(Operation {
                method: method.to_uppercase(),
                path: filled(path),
                role: role(&operation["security"]),
            });
        }
    }
    operations
}

/// Puts a name that names nothing into each place of a path.
fn filled(path: &str) -> String {
    let path = path.replace("{form}", "csv");
    let parts = path.split('/').map(|part| {
        match part.strip_prefix('{').and_then(|name| name.split_once('}')) {
            Some((_, rest)) => format!("nothing{rest}"),
            None => part.to_owned(),
        }
    });
    parts.collect::<Vec<_>>().join("/")
}

fn role(security: &Value) -> Option<Role> {
    let word = security.get(0)?.get("key")?.get(0)?.as_str()?;
    Some(Role::parse(word).expect("a role"))
}

/// A request that a handler can read, but that asks for nothing that could be done.
fn body(ask: Ask) -> Ask {
    // A stream of events that could be followed would not end.
    let ask = ask.header("Last-Event-ID", "nothing");
    ask.once("a-key").if_match(1).json(&json!({}))
}

async fn call(server: &TestServer, secret: Option<&str>, operation: &Operation) -> Heard {
    let Operation { method, path, .. } = operation;
    let ask = match secret {
        Some(secret) => server.ask_as(secret, method, path),
        None => server.ask_without_key(method, path),
    };
    body(ask).send().await
}

#[test]
fn only_health_needs_no_key() {
    let open: Vec<String> = operations()
        .into_iter()
        .filter(|operation| operation.role.is_none())
        .map(|operation| operation.path)
        .collect();
    assert_eq!(open, ["/healthz", "/readyz"]);
}

#[test]
fn the_walk_covers_the_whole_service() {
    let operations = operations();
    assert!(operations.len() > 50, "{}", operations.len());
    for role in Role::ALL {
        assert!(
            operations
                .iter()
                .any(|operation| operation.role == Some(role)),
            "nothing needs {role:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_operation_answers_without_a_key() {
    let server = TestServer::start().await;
    for operation in operations().iter().filter(|it| it.role.is_some()) {
        let heard = call(&server, None, operation).await;
        heard.problem(ProblemKind::Unauthenticated);
        let challenge = heard.header("WWW-Authenticate");
        assert!(challenge.starts_with("Bearer"), "{challenge}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_operation_answers_to_a_wrong_key() {
    let server = TestServer::at("2026-06-15T08:00:00Z").await;
    for (index, operation) in operations().iter().enumerate() {
        if operation.role.is_none() {
            continue;
        }
        // So late that the keys are looked up anew: the answer must not depend on it.
        let minute = index % 60;
        let hour = 9 + index / 60;
        server.set_clock(&format!("2026-06-15T{hour:02}:{minute:02}:00Z"));
        let wrong = format!("tig_{}", "0".repeat(64));
        let heard = call(&server, Some(&wrong), operation).await;
        heard.problem(ProblemKind::Unauthenticated);
        assert!(heard.header("WWW-Authenticate").starts_with("Bearer"));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_operation_answers_to_a_lesser_role() {
    let server = TestServer::start().await;
    for operation in &operations() {
        let lesser = Role::ALL
            .into_iter()
            .filter(|role| operation.role > Some(*role));
        for role in lesser {
            let heard = call(&server, Some(server.key(role)), operation).await;
            let problem = heard.problem(ProblemKind::Forbidden);
            assert!(problem.detail.contains(role.as_str()), "{problem:?}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_operation_answers_to_its_role_and_those_above() {
    let server = TestServer::start().await;
    for operation in &operations() {
        let roles = Role::ALL
            .into_iter()
            .filter(|role| operation.role <= Some(*role));
        for role in roles {
            let heard = call(&server, Some(server.key(role)), operation).await;
            let (method, path) = (&operation.method, &operation.path);
            assert!(
                !matches!(heard.status, 401 | 403 | 405 | 500..),
                "{method} {path} as {role:?}: {} {}",
                heard.status,
                heard.text()
            );
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_must_come_as_a_bearer() {
    let server = TestServer::start().await;
    let secret = server.key(Role::Own);
    for value in [
        secret.to_owned(),
        format!("Basic {secret}"),
        "Bearer ".to_owned(),
        format!("Bearer {secret}0"),
        format!("Bearer {}", secret.to_uppercase()),
    ] {
        let ask = server.ask_without_key("GET", "/v1/parts");
        let heard = ask.header("Authorization", &value).send().await;
        heard.problem(ProblemKind::Unauthenticated);
    }
    let ask = server.ask_without_key("GET", "/v1/parts");
    let heard = ask.header("Authorization", &format!("bearer {secret}"));
    assert_eq!(heard.send().await.status, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn taking_over_a_history_needs_the_role_keep() {
    let server = TestServer::start().await;
    let batch = json!({"entries": [], "history": true});
    let send = async |role: Role| {
        let ask = server.ask_as(server.key(role), "POST", "/v1/usage/batch");
        ask.json(&batch).send().await
    };
    send(Role::Log).await.problem(ProblemKind::Forbidden);
    send(Role::Keep).await.problem(ProblemKind::Invalid);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_refusal_does_not_show_the_key_that_was_sent() {
    let server = TestServer::start().await;
    let secret = server.key(Role::Read);
    let ask = server.ask_as(secret, "POST", "/v1/parts").json(&json!({}));
    let heard = ask.send().await;
    let problem: Problem = heard.problem(ProblemKind::Forbidden);
    assert!(!heard.text().contains(secret), "{problem:?}");
    assert!(problem.detail.contains("keep"), "{problem:?}");
}

#[test]
fn no_file_can_open_the_service_to_everybody() {
    let refused = serde_json::from_value::<server::config::Config>(json!({"keyless": true}));
    assert!(refused.is_err());
    assert!(!server::config::Config::default().keyless);
    let listen = server::config::Config::default().listen;
    assert!(listen.ip().is_loopback());
}
