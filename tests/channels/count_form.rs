//! The link in a mail: it records one count of one part, and can do nothing else.

use chrono::TimeDelta;
use mail_parser::MessageParser;
use tigstock_tests::builders::electrode;
use tigstock_tests::postbox::Postbox;
use tigstock_tests::raw::Heard;
use tigstock_tests::told::{event, record};
use tigstock_tests::{TestServer, instant};
use types::{EventKind, ListCounts, ProblemKind};

use crate::mail::{NOW, SAYS, address, mailing};

const FORM: &str = "application/x-www-form-urlencoded";
const ONE: &str = "01977b6a-0000-7000-8000-000000000001";
const TWO: &str = "01977b6a-0000-7000-8000-000000000002";

/// A server that has sent a warning, and the path of the link in the mail.
async fn warned() -> (TestServer, String) {
    let postbox = Postbox::new();
    let clock = server::service::Clock::standing_at(instant(NOW));
    let server = TestServer::with_config(clock, mailing(&postbox)).await;
    server.part(electrode("WLa20-1.6", "1.6 mm")).await;
    address(&server, "owner@shop.example").await;
    let now = server.context.clock.now();
    let mut event = event(EventKind::WarningTold, "WLa20-1.6", SAYS, now);
    event.part = Some("WLa20-1.6".to_owned());
    let sites = server.owner.list_sites(&types::Page::default()).await;
    event.site = Some(sites.expect("sites").sites[0].code.clone());
    record(&server.context, event).await;
    server.deliver().await;
    let mails = postbox.mails();
    let parsed = MessageParser::default().parse(mails[0].message.as_bytes());
    let text = parsed
        .expect("a mail")
        .body_text(0)
        .expect("text")
        .into_owned();
    let link = text.lines().find(|line| line.starts_with("https://"));
    let link = link.expect("a link").trim();
    let path = link.strip_prefix("https://tigstock.example").expect("ours");
    (server, path.to_owned())
}

async fn fill(server: &TestServer, path: &str, form: &str, counted: &str) -> Heard {
    let body = format!("form={form}&counted={counted}");
    server
        .ask_without_key("POST", path)
        .text(FORM, body)
        .send()
        .await
}

async fn counted(server: &TestServer) -> Vec<i64> {
    let page = server.owner.list_counts(&ListCounts::default()).await;
    let counts = page.expect("a page").counts;
    counts.iter().map(|count| count.counted).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_link_opens_a_form_that_works_without_key_and_script() {
    let (server, path) = warned().await;
    let heard = server.ask_without_key("GET", &path).send().await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header("content-type"), "text/html; charset=utf-8");
    assert_eq!(heard.header("cache-control"), "no-store");
    assert_eq!(heard.header("referrer-policy"), "no-referrer");
    let policy = heard.header("content-security-policy");
    assert!(policy.contains("default-src 'none'"), "{policy}");
    let text = heard.text();
    for told in [
        "WLa20-1.6",
        "<label for=\"counted\">",
        "id=\"counted\"",
        "<html lang=\"en\">",
        "method=\"post\"",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    assert!(!text.contains("<script"), "{text}");
    assert!(counted(&server).await.is_empty(), "looking records nothing");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_filled_in_is_a_count_and_sent_again_it_is_the_same_one() {
    let (server, path) = warned().await;
    for _ in 0..2 {
        let heard = fill(&server, &path, ONE, "12").await;
        assert_eq!(heard.status, 200, "{}", heard.text());
        assert!(heard.text().contains("12"), "{}", heard.text());
    }
    assert_eq!(counted(&server).await, [12]);
    // The same form with another number is a mistake; a new form is a new count.
    assert_eq!(fill(&server, &path, ONE, "13").await.status, 422);
    assert_eq!(counted(&server).await, [12]);
    server.pass(TimeDelta::hours(1));
    assert_eq!(fill(&server, &path, TWO, "11").await.status, 200);
    assert_eq!(counted(&server).await.len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_no_number_is_told_beside_the_form() {
    let (server, path) = warned().await;
    for told in ["", "twelve", "1.5", "-1", "99999999999999999999"] {
        let heard = fill(&server, &path, ONE, told).await;
        assert_eq!(heard.status, 422, "{told}");
        let text = heard.text();
        assert!(text.contains("role=\"alert\""), "{text}");
        assert!(text.contains("id=\"counted\""), "{text}");
    }
    assert!(counted(&server).await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_link_that_was_changed_or_has_ended_does_nothing() {
    let (server, path) = warned().await;
    let token = path.strip_prefix("/count/").expect("a token");
    let (words, seal) = token.split_once('.').expect("two parts");
    let swap = |text: &str, at: usize| {
        let mut letters: Vec<char> = text.chars().collect();
        letters[at] = if letters[at] == 'A' { 'B' } else { 'A' };
        letters.into_iter().collect::<String>()
    };
    for changed in [
        format!("{}.{seal}", swap(words, 5)),
        format!("{words}.{}", swap(seal, 5)),
        format!("{words}."),
        words.to_owned(),
        format!(".{seal}"),
        "nothing".to_owned(),
    ] {
        let path = format!("/count/{changed}");
        let heard = server.ask_without_key("GET", &path).send().await;
        assert_eq!(heard.status, 404, "{changed}");
        assert_eq!(fill(&server, &path, ONE, "12").await.status, 404);
    }
    server.pass(TimeDelta::days(14));
    let heard = fill(&server, &path, ONE, "12").await;
    assert_eq!(heard.status, 409);
    assert!(heard.text().contains("2026-07-01"), "{}", heard.text());
    assert!(counted(&server).await.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_token_is_no_key() {
    let (server, path) = warned().await;
    let token = path.strip_prefix("/count/").expect("a token");
    let heard = server.ask_as(token, "GET", "/v1/stock").send().await;
    heard.problem(ProblemKind::Unauthenticated);
}
