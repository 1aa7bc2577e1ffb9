//! The weekly digest: once a week and site, at the site's own time, and only if there is something to say.

use chrono::TimeDelta;
use server::service::{Context, digests};
use server::store::Store;
use tigstock_tests::builders::collet;
use tigstock_tests::postbox::Postbox;
use tigstock_tests::receiver::Receiver;
use tigstock_tests::{TestServer, config};
use types::{NewOffer, NewOrder, NewOrderLine, NewSupplier, Page};

use crate::mail::{address, mailing};

async fn make(context: &Context) -> usize {
    digests::make_due(context).await.expect("they are made")
}

/// A shop in Halifax with one draft order: something to say each week.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.zone("America/Halifax").await;
    server.part(collet("collet-2.4")).await;
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 5,
        ..NewSupplier::default()
    };
    let made = server.owner.create_supplier(&supplier).await;
    made.expect("a supplier");
    let order = NewOrder {
        supplier: "quayhead".to_owned(),
        lines: vec![NewOrderLine {
            part: "collet-2.4".to_owned(),
            pack_size: 5,
            packs: 1,
        }],
        course: None,
        job: None,
        site: None,
    };
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "collet-2.4".to_owned(),
        pack_size: 5,
        price_minor: 1_250,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let made = server.owner.create_order(&order, "draft").await;
    made.expect("an order");
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn a_digest_comes_at_the_time_of_the_site_once_a_week() {
    let server = shop().await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    // The week before this shop began is not looked back on.
    assert_eq!(make(&server.context).await, 0);
    // Sunday 18:00 in Halifax is 21:00 UTC in summer.
    for (now, told) in [
        ("2026-06-21T20:59:59Z", 0),
        ("2026-06-21T21:00:00Z", 1),
        ("2026-06-21T21:00:01Z", 0),
        ("2026-06-27T12:00:00Z", 0),
        ("2026-06-28T21:30:00Z", 1),
        // 18:00 is 22:00 UTC in winter.
        ("2026-11-29T21:30:00Z", 1),
        ("2026-11-29T22:00:00Z", 1),
        ("2026-11-29T22:30:00Z", 0),
    ] {
        server.set_clock(now);
        assert_eq!(make(&server.context).await, told, "{now}");
    }
    server.deliver().await;
    let got = receiver.got();
    assert_eq!(got.len(), 4);
    let body = got[0].json();
    assert_eq!(body["type"], "tigstock.digest.ready");
    let lines = body["data"]["data"]["lines"].as_array().expect("lines");
    assert!(
        lines.iter().any(|line| line["about"] == "draft"),
        "{lines:?}"
    );
    let says = body["data"]["says"].as_str().expect("a sentence");
    assert!(says.contains("Sun 21 Jun"), "{says}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_processes_and_a_restart_make_one_digest() {
    let server = shop().await;
    server.set_clock("2026-06-21T21:00:00Z");
    let other = Store::open(server.database()).await.expect("a database");
    let other = Context::start(other, server.clock.clone());
    let (one, two) = tokio::join!(make(&server.context), make(&other));
    assert_eq!(one + two, 1);
    let again = Store::open(server.database()).await.expect("a database");
    let again = Context::start(again, server.clock.clone());
    assert_eq!(make(&again).await, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_digest_is_told_to_nobody() {
    let server = TestServer::at("2026-06-21T21:00:00Z").await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    for _ in 0..3 {
        assert_eq!(make(&server.context).await, 0);
        server.pass(TimeDelta::days(7));
    }
    server.deliver().await;
    assert!(receiver.got().is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_digest_is_one_mail_with_a_line_each() {
    let shop = shop().await;
    shop.set_clock("2026-06-21T21:00:00Z");
    shop.context.clone().store.close().await.expect("closed");
    let postbox = Postbox::new();
    let config = server::config::Config {
        webhook_http: config().webhook_http,
        ..mailing(&postbox)
    };
    let server = TestServer::over_with(shop.database(), shop.clock.clone(), config).await;
    address(&server, "owner@shop.example").await;
    assert_eq!(make(&server.context).await, 1);
    server.deliver().await;
    let mails = postbox.mails();
    assert_eq!(mails.len(), 1);
    let parsed = mail_parser::MessageParser::default().parse(mails[0].message.as_bytes());
    let parsed = parsed.expect("a mail");
    assert!(
        parsed
            .subject()
            .expect("a subject")
            .starts_with("Digest of ")
    );
    let text = parsed.body_text(0).expect("text").into_owned();
    let lines: Vec<&str> = text.lines().filter(|line| line.starts_with("- ")).collect();
    assert!(
        lines.iter().any(|line| line.contains("is a draft")),
        "{text}"
    );
    let html = parsed.body_html(0).expect("HTML");
    assert_eq!(html.matches("<li>").count(), lines.len(), "{html}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_price_that_changed_is_a_line_of_one_digest() {
    let server = shop().await;
    let receiver = Receiver::start();
    server.webhook(&receiver.url).await;
    let offers = server.owner.list_offers(&Page::default()).await;
    let offer = offers.expect("offers").offers.remove(0);
    let (id, version) = (offer.id, offer.version);
    let dearer = NewOffer {
        price_minor: 1_350,
        ..offer.into_new()
    };
    let told = server.owner.replace_offer(id, &dearer, version).await;
    told.expect("it is replaced");
    for sunday in ["2026-06-21T21:00:00Z", "2026-06-28T21:00:00Z"] {
        server.set_clock(sunday);
        assert_eq!(make(&server.context).await, 1, "{sunday}");
    }
    server.deliver().await;
    let bodies = receiver.got().into_iter().map(|got| got.json());
    let digests = bodies.filter(|body| body["type"] == "tigstock.digest.ready");
    let terms = digests.map(|body| {
        let lines = body["data"]["data"]["lines"]
            .as_array()
            .expect("lines")
            .clone();
        let terms = lines.into_iter().filter(|line| line["about"] == "terms");
        let says = terms.map(|line| line["says"].as_str().expect("words").to_owned());
        says.collect::<Vec<_>>()
    });
    let line = "quayhead: collet-2.4 in packs of 5 costs 13.50 CAD, 12.50 CAD before.";
    assert_eq!(
        terms.collect::<Vec<_>>(),
        [vec![line.to_owned()], Vec::new()]
    );
}
