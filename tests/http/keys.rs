//! Keys: shown once, revoked at once, and never all of the owner's.

use client::Client;
use tigstock_tests::TestServer;
use tigstock_tests::database::is_without_file;
use tigstock_tests::raw::Heard;
use types::{CreatedKey, KeyPage, NewKey, Page, ProblemKind, Role};

async fn make(server: &TestServer, name: &str, role: Role) -> CreatedKey {
    let new = NewKey {
        name: name.to_owned(),
        role,
        expires_at: None,
    };
    server.owner.create_key(&new).await.expect("a key")
}

async fn get(server: &TestServer, path: &str) -> Heard {
    server.ask("GET", path).send().await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_secret_is_shown_when_it_is_made_and_never_again() {
    let server = TestServer::start().await;
    let made = make(&server, "phone at the bench", Role::Log).await;
    assert!(made.secret.starts_with("tig_"));
    assert!(made.secret.starts_with(&made.key.prefix));
    assert!(made.key.prefix.len() < 12);
    let list = get(&server, "/v1/keys").await;
    assert!(!list.text().contains(&made.secret));
    let page: KeyPage = list.read();
    assert_eq!(page.keys.last(), Some(&made.key));
    let revoked = format!("/v1/keys/{}", made.key.id);
    let revoked = server.ask("DELETE", &revoked).send().await;
    assert!(!revoked.text().contains(&made.secret));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_with_the_secret_is_not_to_be_stored_on_the_way() {
    let server = TestServer::start().await;
    let body = serde_json::json!({"name": "sheet", "role": "read"});
    let heard = server.ask("POST", "/v1/keys").json(&body).send().await;
    assert_eq!(heard.status, 201);
    assert_eq!(heard.header("Cache-Control"), "no-store");
    let made: CreatedKey = heard.read();
    let place = format!("/v1/keys/{}", made.key.id);
    assert_eq!(heard.header("Location"), place);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_database_holds_no_secret() {
    if is_without_file("looks for the secret in the bytes of the file") {
        return;
    }
    let server = TestServer::start().await;
    let made = make(&server, "phone", Role::Log).await;
    let file = server.database().file().expect("a file");
    let mut bytes = std::fs::read(file).unwrap();
    bytes.extend(std::fs::read(file.with_extension("db-wal")).unwrap_or_default());
    let random = made.secret.trim_start_matches(&made.key.prefix).as_bytes();
    assert!(!bytes.windows(random.len()).any(|window| window == random));
    assert!(bytes.windows(5).any(|window| window == b"phone"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revoked_key_stops_working_at_once() {
    let server = TestServer::start().await;
    let made = make(&server, "phone", Role::Read).await;
    let phone = Client::new(&server.url, Some(made.secret)).unwrap();
    phone.list_parts(&Page::default()).await.unwrap();
    let revoked = server.owner.revoke_key(made.key.id).await.unwrap();
    assert!(revoked.revoked_at.is_some());
    let refused = phone.list_parts(&Page::default()).await.unwrap_err();
    assert!(refused.is(ProblemKind::Unauthenticated));
}

#[tokio::test(flavor = "multi_thread")]
async fn revoking_twice_changes_nothing() {
    let server = TestServer::at("2026-06-15T08:00:00Z").await;
    let made = make(&server, "phone", Role::Read).await;
    let first = server.owner.revoke_key(made.key.id).await.unwrap();
    server.set_clock("2026-06-16T08:00:00Z");
    let second = server.owner.revoke_key(made.key.id).await.unwrap();
    assert_eq!(first, second);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_last_key_of_the_owner_cannot_be_revoked() {
    let server = TestServer::start().await;
    let keys = server.owner.list_keys(&Page::default()).await.unwrap().keys;
    let own: Vec<_> = keys.iter().filter(|key| key.role == Role::Own).collect();
    assert_eq!(own.len(), 1);
    let refused = server.owner.revoke_key(own[0].id).await.unwrap_err();
    assert!(refused.is(ProblemKind::WrongState), "{refused}");
    // With another one it can.
    make(&server, "second owner", Role::Own).await;
    server.owner.revoke_key(own[0].id).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn two_owners_who_revoke_each_other_at_once_leave_one() {
    let server = TestServer::start().await;
    let keys = server.owner.list_keys(&Page::default()).await.unwrap().keys;
    let first = keys.iter().find(|key| key.role == Role::Own).unwrap();
    let second = make(&server, "second owner", Role::Own).await;
    let other = Client::new(&server.url, Some(second.secret)).unwrap();
    let (left, right) = tokio::join!(
        server.owner.revoke_key(second.key.id),
        other.revoke_key(first.id)
    );
    assert!(left.is_ok() != right.is_ok(), "{left:?} {right:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_needs_a_name_and_a_role_that_exists() {
    let server = TestServer::start().await;
    for (body, kind) in [
        (r#"{"name": "  ", "role": "read"}"#, ProblemKind::Invalid),
        (
            r#"{"name": "phone", "role": "boss"}"#,
            ProblemKind::MalformedRequest,
        ),
        (r#"{"role": "read"}"#, ProblemKind::MalformedRequest),
    ] {
        let ask = server.ask("POST", "/v1/keys");
        ask.text("application/json", body)
            .send()
            .await
            .problem(kind);
    }
    assert_eq!(
        server
            .owner
            .list_keys(&Page::default())
            .await
            .unwrap()
            .keys
            .len(),
        Role::ALL.len()
    );
}
