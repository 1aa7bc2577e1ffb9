//! The service asks for the key and the role that the contract tells, of every operation.

use reqwest::{Client, Method, Response};
use serde_json::Value;
use tigstock_tests::TestServer;
use types::Role;

use crate::contract::{DOCUMENT, Operation, operations};
use crate::schema::faults;

fn caller() -> Client {
    Client::builder()
        .no_proxy()
        .tls_certs_only([])
        .build()
        .expect("a client")
}

/// Calls an operation with that key, without headers or a body: enough to be let in or not.
async fn call(server: &TestServer, operation: &Operation, key: Option<&str>) -> Response {
    let path: Vec<&str> = operation
        .path
        .split('/')
        .map(|part| {
            if part.starts_with('{') {
                "nothing"
            } else {
                part
            }
        })
        .collect();
    let method = Method::from_bytes(operation.method.to_uppercase().as_bytes());
    let address = format!("{}{}", server.url, path.join("/"));
    let mut request = caller().request(method.expect("a method"), address);
    if let Some(key) = key {
        request = request.bearer_auth(key);
    }
    request.send().await.expect("an answer")
}

async fn assert_problem(answer: Response, id: &str) {
    assert_eq!(answer.headers()["content-type"], "application/problem+json");
    let status = answer.status().as_u16();
    let body: Value = answer.json().await.expect("JSON");
    let found = faults(&DOCUMENT["components"]["schemas"]["Problem"], &body);
    assert!(found.is_empty(), "{id}: {found:?}");
    assert_eq!(body["status"], status, "{id}");
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_key_every_operation_that_needs_one_answers_401() {
    let server = TestServer::start().await;
    for operation in operations() {
        for key in [None, Some("tig_unknown")] {
            let answer = call(&server, &operation, key).await;
            let status = answer.status().as_u16();
            let needs_key = operation.role().is_some();
            assert_eq!(status == 401, needs_key, "{}: {status}", operation.id());
            if needs_key {
                assert_problem(answer, operation.id()).await;
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_role_below_the_one_told_is_refused_and_no_other() {
    let server = TestServer::start().await;
    for operation in operations() {
        let Some(needs) = operation.role().and_then(Role::parse) else {
            continue;
        };
        for role in Role::ALL {
            let answer = call(&server, &operation, Some(server.key(role))).await;
            let (id, status) = (operation.id(), answer.status().as_u16());
            assert_eq!(status == 403, role < needs, "{id} as {role:?}: {status}");
            assert_ne!(status, 401, "{id} as {role:?}");
            if status == 403 {
                assert_problem(answer, id).await;
            }
        }
    }
}
