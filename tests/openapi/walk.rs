//! Every operation is called by the client against a real server, and every answer on the wire is
//! what the contract tells: a status it names, in its media type, with a body of its schema.

use std::collections::BTreeSet;

use client::Client;
use serde_json::Value;
use tigstock_tests::TestServer;
use tigstock_tests::door::{Door, Exchange};
use types::Role;

use crate::contract::{Operation, operation_of, operations};
use crate::schema::faults;

mod planned;
mod recorded;
mod set_up;
mod told;
mod watched;

const NOW: &str = "2026-06-15T08:00:00-03:00";
const ELECTRODE: &str = "WLa20-2.4";
const COLLET: &str = "collet-2.4";

type Done = Result<(), client::Error>;

/// The exchanges of a walk through all operations, in an order in which each finds what it needs.
async fn walked() -> Vec<Exchange> {
    let server = TestServer::at(NOW).await;
    let mut door = Door::shut();
    door.open(&server.url);
    let key = server.key(Role::Own).to_owned();
    let client = Client::new(&door.url, Some(key)).expect("a client");
    walk(&client).await.expect("every call has its answer");
    door.seen()
}

async fn walk(client: &Client) -> Done {
    client.get_health().await?;
    client.get_readiness().await?;
    set_up::sites(client).await?;
    set_up::lulls(client).await?;
    set_up::keys(client).await?;
    set_up::parts(client).await?;
    set_up::torches(client).await?;
    set_up::kits(client).await?;
    client.check_kit("T1", "K-24").await?;
    set_up::counts_of_kits(client).await?;
    set_up::fits(client).await?;
    set_up::seats(client).await?;
    client.list_cautions().await?;
    set_up::electrodes(client).await?;
    set_up::drawers(client).await?;
    set_up::photos(client).await?;
    set_up::suppliers(client).await?;
    set_up::offers(client).await?;
    set_up::procedures(client).await?;
    planned::jobs(client).await?;
    planned::courses(client).await?;
    recorded::ledger(client).await?;
    recorded::transfer(client).await?;
    recorded::stubs(client).await?;
    planned::stock(client).await?;
    recorded::matches(client).await?;
    planned::orders(client).await?;
    watched::warnings(client).await?;
    planned::closings(client).await?;
    told::webhooks(client).await?;
    told::mail_addresses(client).await?;
    told::events(client).await
}

/// Whether a body of that media type can be held against a schema; pictures cannot.
fn is_json(media_type: &str) -> bool {
    media_type == "application/json" || media_type.ends_with("+json")
}

#[tokio::test(flavor = "multi_thread")]
async fn every_operation_is_called_by_the_client() {
    let called: BTreeSet<&str> = walked()
        .await
        .iter()
        .filter(|exchange| (200..300).contains(&exchange.status))
        .filter_map(|it| Some(operation_of(&it.method, &it.path)?.id()))
        .collect();
    let told: BTreeSet<&str> = operations().iter().map(Operation::id).collect();
    assert_eq!(called, told);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_is_as_the_contract_tells() {
    for exchange in walked().await {
        let (method, path) = (&exchange.method, &exchange.path);
        let operation = operation_of(method, path)
            .unwrap_or_else(|| panic!("{method} {path} is not in the contract"));
        let id = operation.id();
        let answer = operation.answers().get(&exchange.status.to_string());
        let answer = answer.unwrap_or_else(|| panic!("{id} does not tell {}", exchange.status));
        let Some(content) = answer["content"].as_object() else {
            assert!(exchange.body.is_empty(), "{id} has a body");
            continue;
        };
        let media_type = exchange.header("content-type").unwrap_or_default();
        let told = content.get(media_type);
        let told = told.unwrap_or_else(|| panic!("{id} does not tell {media_type}"));
        if !is_json(media_type) {
            assert!(!exchange.body.is_empty(), "{id} answers with nothing");
            continue;
        }
        let body: Value = serde_json::from_slice(&exchange.body).expect("JSON");
        let found = faults(&told["schema"], &body);
        assert!(found.is_empty(), "{id}: {found:?} in {body}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_request_of_the_client_is_as_the_contract_tells() {
    for exchange in walked().await {
        let (method, path) = (&exchange.method, &exchange.path);
        let operation = operation_of(method, path)
            .unwrap_or_else(|| panic!("{method} {path} is not in the contract"));
        let id = operation.id();
        let Some(content) = operation.told["requestBody"]["content"].as_object() else {
            assert!(exchange.sent.is_empty(), "{id} has a body");
            continue;
        };
        let Some(told) = content.get("application/json") else {
            assert!(!content.keys().any(|it| is_json(it)), "{id}");
            assert!(!exchange.sent.is_empty(), "{id} is sent nothing");
            continue;
        };
        let schema = &told["schema"];
        let body: Value = serde_json::from_slice(&exchange.sent).expect("JSON");
        let found = faults(schema, &body);
        assert!(found.is_empty(), "{}: {found:?}", operation.id());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_header_of_an_answer_that_is_told_is_there() {
    for exchange in walked().await {
        let Some(operation) = operation_of(&exchange.method, &exchange.path) else {
            continue;
        };
        let headers = &operation.answers()[&exchange.status.to_string()]["headers"];
        for name in headers
            .as_object()
            .into_iter()
            .flatten()
            .map(|(name, _)| name)
        {
            let found = exchange.header(&name.to_lowercase());
            assert!(found.is_some(), "{} without {name}", operation.id());
        }
    }
}
