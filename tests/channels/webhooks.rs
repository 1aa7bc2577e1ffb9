//! What a webhook receives: signed, ordered, under one id. The signatures are checked by the library of
//! those who wrote the specification.

use chrono::TimeDelta;
use serde_json::{Value, json};
use server::service::Clock;
use standardwebhooks::Webhook as Independent;
use tigstock_tests::TestServer;
use tigstock_tests::receiver::{Got, Receiver, Reply};
use tigstock_tests::told::{event, record};
use types::{EventKind, NewWebhook, Page, ProblemKind};

const SAYS: &str = "Electrode WLa20 1.6 mm: 4 left, order point 4. Next: 1 pack of 10, Quayhead.";

fn is_signed_by(secret: &str, got: &Got) -> bool {
    let independent = Independent::new(secret).expect("a secret of the specification");
    independent.verify(&got.body, &got.headers).is_ok()
}

#[tokio::test(flavor = "multi_thread")]
async fn an_event_arrives_once_signed_and_as_a_cloud_event() {
    // The library compares the time of the sending with the system's clock.
    let server = TestServer::start().await;
    let receiver = Receiver::start();
    let secret = server.webhook(&receiver.url).await.secret;
    let other = server.webhook("http://127.0.0.1:9/").await.secret;
    let id = server.tell("WLa20-1.6", SAYS).await;
    server.deliver().await;
    assert_eq!(server.deliver().await, 0, "nothing is left to send");
    let got = receiver.got();
    assert_eq!(got.len(), 1);
    assert!(is_signed_by(&secret, &got[0]));
    assert!(!is_signed_by(&other, &got[0]));
    let mut spoilt = got[0].clone();
    spoilt.body.push(b' ');
    assert!(!is_signed_by(&secret, &spoilt));
    assert_eq!(got[0].id(), id.to_string());
    let media_type = "application/cloudevents+json; charset=utf-8";
    assert_eq!(got[0].header("content-type"), media_type);
    // CloudEvents 1.0.2, required and optional attributes; JSON format 1.0.2.
    let body = got[0].json();
    assert_eq!(body["specversion"], "1.0");
    assert_eq!(body["id"], json!(id));
    assert_eq!(body["type"], "tigstock.warning.told");
    assert_eq!(body["source"], "urn:tigstock");
    assert_eq!(body["subject"], "WLa20-1.6");
    assert_eq!(body["datacontenttype"], "application/json");
    let time = body["time"].as_str().expect("a time");
    chrono::DateTime::parse_from_rfc3339(time).expect("a time of RFC 3339");
    assert_eq!(body["data"]["says"], SAYS);
}

#[tokio::test(flavor = "multi_thread")]
async fn for_a_day_after_a_new_secret_both_sign() {
    let server = TestServer::with_clock(Clock::standing_at(
        TestServer::start().await.context.clock.now(),
    ))
    .await;
    let receiver = Receiver::start();
    let made = server.webhook(&receiver.url).await;
    let made_anew = server.owner.rotate_webhook_secret(made.webhook.id).await;
    let made_anew = made_anew.expect("a new secret");
    assert_ne!(made.secret, made_anew.secret);
    server.tell("a", "a").await;
    server.deliver().await;
    server.pass(TimeDelta::hours(25));
    server.tell("a", "b").await;
    server.deliver().await;
    let got = receiver.got();
    assert!(is_signed_by(&made.secret, &got[0]));
    assert!(is_signed_by(&made_anew.secret, &got[0]));
    let signatures = |got: &Got| got.header("webhook-signature").split(' ').count();
    assert_eq!([signatures(&got[0]), signatures(&got[1])], [2, 1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_secret_is_told_once_and_then_no_more() {
    let server = TestServer::start().await;
    let made = server.webhook("http://127.0.0.1:9/").await;
    let bare = made.secret.strip_prefix("whsec_").expect("its prefix");
    let path = format!("/v1/webhooks/{}", made.webhook.id);
    for path in ["/v1/webhooks", &path] {
        let heard = server.ask("GET", path).send().await;
        assert_eq!(heard.status, 200);
        assert!(!heard.text().contains(bare), "{path}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receiver_gets_the_kinds_and_the_site_that_it_wants() {
    let server = TestServer::at("2026-06-15T11:00:00Z").await;
    let (closed, usual, school) = (Receiver::start(), Receiver::start(), Receiver::start());
    for (receiver, kinds, site) in [
        (&closed, vec![EventKind::WarningClosed], None),
        (&usual, vec![], None),
        (&school, vec![], Some("school".to_owned())),
    ] {
        if site.is_some() {
            let site = json!({"code": "school", "zone": "America/Halifax"});
            let made = server.ask("POST", "/v1/sites").json(&site).send().await;
            assert_eq!(made.status, 201);
        }
        let new = NewWebhook {
            url: receiver.url.clone(),
            kinds,
            site,
            note: None,
        };
        server.owner.create_webhook(&new).await.expect("added");
    }
    let now = server.context.clock.now();
    for (kind, site) in [
        (EventKind::WarningTold, Some("shop")),
        (EventKind::WarningClosed, Some("school")),
        (EventKind::WarningEscalated, Some("SCHOOL")),
        (EventKind::DigestReady, None),
    ] {
        let mut event = event(kind, "a", kind.as_str(), now);
        event.site = site.map(str::to_owned);
        record(&server.context, event).await;
    }
    server.deliver().await;
    let kinds = |receiver: &Receiver| -> Vec<Value> {
        let got = receiver.got();
        got.iter()
            .map(|got| got.json()["data"]["kind"].clone())
            .collect()
    };
    assert_eq!(kinds(&closed), ["warning.closed"]);
    let all = ["warning.told", "warning.escalated", "digest.ready"];
    assert_eq!(kinds(&usual), all);
    assert_eq!(kinds(&school), ["warning.escalated", "digest.ready"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_private_address_is_refused_with_what_would_allow_it() {
    let server = TestServer::with_config(Clock::system(), server::config::Config::default()).await;
    for (url, told) in [
        ("https://127.0.0.1/x", "webhook_allow"),
        ("https://2130706433/x", "127.0.0.1"),
        ("https://[::ffff:10.0.0.1]/x", "10.0.0.1"),
        (
            "https://169.254.169.254/latest/meta-data",
            "169.254.169.254",
        ),
        ("https://localhost/x", "webhook_allow"),
        ("http://hooks.example/x", "webhook_http"),
        ("https://nowhere.invalid/x", "nowhere.invalid"),
        ("hooks", "\"hooks\""),
        ("", "https://"),
    ] {
        let body = json!({ "url": url });
        let heard = server.ask("POST", "/v1/webhooks").json(&body).send().await;
        let problem = heard.problem(ProblemKind::Invalid);
        let violation = &problem.violations[0];
        assert_eq!(violation.pointer, "/url", "{url}");
        assert!(violation.detail.contains(told), "{url}: {violation:?}");
    }
    let page = server.owner.list_webhooks(&Page::default()).await;
    assert!(page.expect("a page").webhooks.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn an_address_that_is_no_longer_allowed_is_not_reached() {
    let allowing = TestServer::at("2026-06-15T11:00:00Z").await;
    let receiver = Receiver::start();
    let webhook = allowing.webhook(&receiver.url).await.webhook.id;
    allowing.tell("a", "a").await;
    let clock = allowing.clock.clone();
    allowing
        .context
        .clone()
        .store
        .close()
        .await
        .expect("closed");
    let config = server::config::Config {
        deliver: false,
        webhook_http: true,
        ..server::config::Config::default()
    };
    let server = TestServer::over_with(allowing.database(), clock, config).await;
    assert_eq!(server.deliver().await, 1);
    assert!(receiver.got().is_empty());
    let told = server
        .owner
        .get_webhook(webhook)
        .await
        .expect("it is there");
    assert_eq!(told.state, "failing");
    let answer = told.sending.last_answer.expect("an answer");
    assert!(answer.contains("webhook_allow"), "{answer}");
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_follows_to_another_address() {
    let server = TestServer::at("2026-06-15T11:00:00Z").await;
    let inner = Receiver::start();
    let target = inner.url.clone();
    let outer = Receiver::judging(move |_| Reply::Status(302, "location", target.clone()));
    let webhook = server.webhook(&outer.url).await.webhook.id;
    server.tell("a", "a").await;
    server.deliver().await;
    assert_eq!((outer.got().len(), inner.got().len()), (1, 0));
    let told = server
        .owner
        .get_webhook(webhook)
        .await
        .expect("it is there");
    let answer = told.sending.last_answer.expect("an answer");
    assert!(answer.contains("302"), "{answer}");
    assert_eq!(told.sending.waiting, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_test_tells_what_came_back_and_is_no_event() {
    let server = TestServer::start().await;
    let good = Receiver::start();
    let bad = Receiver::judging(|_| Reply::of(500));
    for (receiver, delivered, status) in [(&good, true, "204"), (&bad, false, "500")] {
        let made = server.webhook(&receiver.url).await;
        let came = server.owner.try_webhook(made.webhook.id).await;
        let came = came.expect("it was tried");
        assert_eq!(came.delivered, delivered);
        assert!(came.answer.contains(status), "{came:?}");
        assert_eq!(receiver.ids(), [came.id.to_string()]);
        assert!(is_signed_by(&made.secret, &receiver.got()[0]));
        assert_eq!(receiver.got()[0].json()["type"], "tigstock.test");
    }
    assert_eq!(server.deliver().await, 0);
}
