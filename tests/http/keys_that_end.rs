//! Keys that end: told before they do, refused after, and rotated without a gap.

use tigstock_tests::raw::Heard;
use tigstock_tests::{TestServer, instant};
use types::{CreatedKey, KeyPage, NewKey, NewRotation, Page, ProblemKind, Role};

const NOW: &str = "2026-06-15T08:00:00Z";
const EXPIRES: &str = "tigstock-key-expires";

async fn made(server: &TestServer, role: Role, expires_at: Option<&str>) -> CreatedKey {
    let new = NewKey {
        name: "sheet in the office".to_owned(),
        role,
        expires_at: expires_at.map(instant),
    };
    server.owner.create_key(&new).await.expect("a key")
}

async fn call(server: &TestServer, secret: &str) -> Heard {
    server.ask_as(secret, "GET", "/v1/parts").send().await
}

async fn told(server: &TestServer, made: &CreatedKey) -> types::Key {
    let page: KeyPage = server
        .owner
        .list_keys(&Page::default())
        .await
        .expect("keys");
    let mut keys = page.keys.into_iter();
    keys.find(|key| key.id == made.key.id).expect("the key")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_works_until_it_expires_and_its_end_is_told_before() {
    let server = TestServer::at(NOW).await;
    let key = made(&server, Role::Read, Some("2026-07-15T08:00:00Z")).await;
    assert_eq!(key.key.says, None);
    let heard = call(&server, &key.secret).await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header(EXPIRES), "");
    server.set_clock("2026-07-02T08:00:00Z");
    let heard = call(&server, &key.secret).await;
    assert_eq!(heard.header(EXPIRES), "2026-07-15T08:00:00Z");
    let says = told(&server, &key).await.says.expect("it is told");
    assert!(says.contains("until 2026-07-15T08:00:00Z"), "{says}");
    server.set_clock("2026-07-15T07:59:59Z");
    assert_eq!(call(&server, &key.secret).await.status, 200);
    server.set_clock("2026-07-15T08:00:00Z");
    let refused = call(&server, &key.secret).await;
    refused.problem(ProblemKind::Unauthenticated);
    let says = told(&server, &key).await.says.expect("it is told");
    assert!(says.contains("expired at 2026-07-15T08:00:00Z"), "{says}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_does_not_end_in_the_past() {
    let server = TestServer::at(NOW).await;
    let new = NewKey {
        name: "sheet".to_owned(),
        role: Role::Read,
        expires_at: Some(instant(NOW)),
    };
    let refused = server.owner.create_key(&new).await.expect_err("it is past");
    assert!(refused.is(ProblemKind::Invalid), "{refused}");
    assert!(refused.to_string().contains("/expires_at"), "{refused}");
}

#[tokio::test(flavor = "multi_thread")]
async fn after_a_rotation_both_secrets_work_until_the_old_one_ends() {
    let server = TestServer::at(NOW).await;
    let old = made(&server, Role::Read, None).await;
    let rotation = NewRotation {
        old_works_until: Some(instant("2026-06-20T08:00:00Z")),
        ..NewRotation::default()
    };
    let path = format!("/v1/keys/{}/rotation", old.key.id);
    let heard = server
        .ask("POST", &path)
        .json(&serde_json::json!(rotation))
        .send()
        .await;
    assert_eq!(
        (heard.status, heard.header("Cache-Control")),
        (201, "no-store")
    );
    let new: CreatedKey = heard.read();
    assert_ne!(new.secret, old.secret);
    assert!(new.secret.starts_with(&new.key.prefix));
    assert_eq!(
        (new.key.id, new.key.old_works_until),
        (old.key.id, rotation.old_works_until)
    );
    assert_eq!(call(&server, &new.secret).await.status, 200);
    let heard = call(&server, &old.secret).await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header(EXPIRES), "2026-06-20T08:00:00Z");
    server.set_clock("2026-06-20T08:00:00Z");
    call(&server, &old.secret)
        .await
        .problem(ProblemKind::Unauthenticated);
    let heard = call(&server, &new.secret).await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header(EXPIRES), "");
    assert_eq!(told(&server, &old).await.old_works_until, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_old_secret_works_for_a_day_unless_told_and_not_at_all_if_told() {
    let server = TestServer::at(NOW).await;
    let old = made(&server, Role::Read, None).await;
    let new = server
        .owner
        .rotate_key(old.key.id, &NewRotation::default())
        .await;
    let new = new.expect("a rotation");
    assert_eq!(
        new.key.old_works_until,
        Some(instant("2026-06-16T08:00:00Z"))
    );
    // A secret that was seen by a stranger ends at once.
    server.set_clock("2026-06-17T08:00:00Z");
    let now = NewRotation {
        old_works_until: Some(instant("2026-06-17T08:00:00Z")),
        ..NewRotation::default()
    };
    let newest = server
        .owner
        .rotate_key(old.key.id, &now)
        .await
        .expect("a rotation");
    for secret in [&old.secret, &new.secret] {
        call(&server, secret)
            .await
            .problem(ProblemKind::Unauthenticated);
    }
    assert_eq!(call(&server, &newest.secret).await.status, 200);
    let late = NewRotation {
        old_works_until: Some(instant("2026-08-17T08:00:00Z")),
        ..NewRotation::default()
    };
    let refused = server
        .owner
        .rotate_key(old.key.id, &late)
        .await
        .expect_err("too late");
    assert!(
        refused.to_string().contains("/old_works_until"),
        "{refused}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_rotation_renews_a_key_and_revoking_it_ends_both_secrets() {
    let server = TestServer::at(NOW).await;
    let old = made(&server, Role::Read, Some("2026-06-18T08:00:00Z")).await;
    let later = NewRotation {
        old_works_until: Some(instant("2026-07-01T08:00:00Z")),
        expires_at: Some(instant("2027-06-18T08:00:00Z")),
    };
    let new = server
        .owner
        .rotate_key(old.key.id, &later)
        .await
        .expect("a rotation");
    assert_eq!(new.key.expires_at, later.expires_at);
    server.set_clock("2026-06-19T08:00:00Z");
    for secret in [&old.secret, &new.secret] {
        assert_eq!(call(&server, secret).await.status, 200);
    }
    // Another one would end what somebody may just have changed over to.
    let again = server
        .owner
        .rotate_key(old.key.id, &NewRotation::default())
        .await;
    assert!(
        again
            .expect_err("it is under way")
            .is(ProblemKind::WrongState)
    );
    server
        .owner
        .revoke_key(old.key.id)
        .await
        .expect("it is revoked");
    for secret in [&old.secret, &new.secret] {
        call(&server, secret)
            .await
            .problem(ProblemKind::Unauthenticated);
    }
    let refused = server.owner.rotate_key(old.key.id, &later).await;
    assert!(
        refused
            .expect_err("it is revoked")
            .is(ProblemKind::WrongState)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_owner_whose_key_ends_does_not_stand_in_for_one_whose_does_not() {
    let server = TestServer::at(NOW).await;
    let keys = server
        .owner
        .list_keys(&Page::default())
        .await
        .expect("keys")
        .keys;
    let first = keys
        .iter()
        .find(|key| key.role == Role::Own)
        .expect("an owner");
    let second = made(&server, Role::Own, Some("2026-07-15T08:00:00Z")).await;
    let refused = server
        .owner
        .revoke_key(first.id)
        .await
        .expect_err("nobody would be left");
    assert!(refused.is(ProblemKind::WrongState), "{refused}");
    server
        .owner
        .revoke_key(second.key.id)
        .await
        .expect("this one may go");
}
