//! What a mail holds, read by a parser that others wrote, and what becomes of it when the mail server
//! refuses.

use chrono::TimeDelta;
use mail_parser::MessageParser;
use serde_json::json;
use server::channels::Channels;
use server::config::{Config, SmtpTls};
use server::service::Clock;
use tigstock_tests::postbox::{Mail, Postbox};
use tigstock_tests::told::{event, record};
use tigstock_tests::{TestServer, config, instant};
use types::{EventKind, NewMailAddress, Page, ProblemKind};

pub(crate) const NOW: &str = "2026-06-17T14:02:00Z";
pub(crate) const SAYS: &str = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; \
                               delivery takes 1 week. Next: 1 pack of 10, Quayhead, by Mon 22 Jun.";

/// The settings for a mail server that is a postbox.
pub(crate) fn mailing(postbox: &Postbox) -> Config {
    Config {
        smtp_host: Some("127.0.0.1".to_owned()),
        smtp_port: Some(postbox.port),
        smtp_tls: SmtpTls::None,
        mail_from: Some("tigstock <tigstock@shop.example>".to_owned()),
        public_url: Some("https://tigstock.example/".to_owned()),
        ..config()
    }
}

async fn server(config: Config) -> TestServer {
    TestServer::with_config(Clock::standing_at(instant(NOW)), config).await
}

pub(crate) async fn address(server: &TestServer, address: &str) {
    let new = NewMailAddress {
        address: address.to_owned(),
        ..NewMailAddress::default()
    };
    server
        .owner
        .create_mail_address(&new)
        .await
        .expect("it is added");
}

fn header(mail: &Mail, name: &str) -> String {
    let parsed = MessageParser::default().parse(mail.message.as_bytes());
    let parsed = parsed.expect("a mail");
    let value = parsed.header_raw(name).unwrap_or_else(|| panic!("{name}"));
    value.trim().to_owned()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mail_says_the_same_as_text_and_as_html() {
    let postbox = Postbox::new();
    let server = server(mailing(&postbox)).await;
    address(&server, "owner@shop.example").await;
    let now = server.context.clock.now();
    let mut event = event(EventKind::WarningTold, "WLa20-1.6", SAYS, now);
    event.site = Some("shop".to_owned());
    event.part = Some("WLa20-1.6".to_owned());
    let id = record(&server.context, event).await;
    server.deliver().await;
    let mails = postbox.mails();
    assert_eq!(mails.len(), 1);
    assert_eq!(mails[0].from, "tigstock@shop.example");
    assert_eq!(mails[0].to, "owner@shop.example");
    let parsed = MessageParser::default().parse(mails[0].message.as_bytes());
    let parsed = parsed.expect("a mail");
    assert_eq!(
        parsed.subject(),
        Some("Electrode WLa20 1.6 mm: 4 left, order point 4.")
    );
    assert_eq!(
        parsed.message_id(),
        Some(format!("{id}@shop.example").as_str())
    );
    let date = parsed.date().expect("a date");
    assert_eq!(date.to_timestamp(), now.timestamp());
    assert_eq!(header(&mails[0], "Auto-Submitted"), "auto-generated");
    let text = parsed.body_text(0).expect("text");
    let html = parsed.body_html(0).expect("HTML");
    assert!(text.contains(SAYS), "{text}");
    assert!(html.contains(SAYS), "{html}");
    let link = "https://tigstock.example/count/";
    assert!(text.contains(link) && html.contains(link), "{text}\n{html}");
    // Nothing is loaded when a mail is read.
    assert!(!html.contains("<img") && !html.contains("<link") && !html.contains("<script"));
}

#[tokio::test(flavor = "multi_thread")]
async fn words_that_look_like_markup_stay_words() {
    let postbox = Postbox::new();
    let server = server(mailing(&postbox)).await;
    address(&server, "owner@shop.example").await;
    server
        .tell(
            "cup",
            "Cup <b>7</b> & \"lens\": 0.\r\nBcc: all@shop.example",
        )
        .await;
    server.deliver().await;
    let mails = postbox.mails();
    let parsed = MessageParser::default().parse(mails[0].message.as_bytes());
    let parsed = parsed.expect("a mail");
    let html = parsed.body_html(0).expect("HTML");
    assert!(html.contains("&lt;b&gt;7&lt;/b&gt; &amp;"), "{html}");
    assert_eq!(parsed.bcc().map(|_| ()), None);
    assert_eq!(mails.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_public_address_the_command_is_named() {
    let postbox = Postbox::new();
    let config = Config {
        public_url: None,
        ..mailing(&postbox)
    };
    let server = server(config).await;
    address(&server, "owner@shop.example").await;
    let now = server.context.clock.now();
    let mut event = event(EventKind::WarningTold, "WLa20-1.6", SAYS, now);
    event.site = Some("shop".to_owned());
    event.part = Some("WLa20-1.6".to_owned());
    record(&server.context, event).await;
    server.deliver().await;
    let mails = postbox.mails();
    let parsed = MessageParser::default().parse(mails[0].message.as_bytes());
    let parsed = parsed.expect("a mail");
    let text = parsed.body_text(0).expect("text");
    let command = "tigstock count WLa20-1.6 NUMBER --site shop";
    assert!(text.contains(command), "{text}");
    assert!(!text.contains("http"), "{text}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_that_refuses_is_asked_again_and_that_is_told() {
    let postbox = Postbox::new();
    let server = server(mailing(&postbox)).await;
    address(&server, "owner@shop.example").await;
    for refusal in ["451 later", "550 no such mailbox"] {
        postbox.refuse(Some(refusal));
        let id = server.tell("cup-7", refusal).await;
        server.deliver().await;
        let page = server.owner.list_mail_addresses(&Page::default()).await;
        let page = page.expect("a page");
        assert_eq!(page.says, None);
        let told = &page.mail_addresses[0];
        assert_eq!(told.sending.waiting, 1);
        assert!(told.sending.failing_since.is_some());
        let answer = told.sending.last_answer.as_deref().expect("an answer");
        assert!(answer.contains(&refusal[..3]), "{answer}");
        postbox.refuse(None);
        server.pass(TimeDelta::seconds(6));
        server.deliver().await;
        let mails = postbox.mails();
        let last = mails.last().expect("it arrived");
        let message_id = header(last, "Message-ID");
        assert_eq!(message_id, format!("<{id}@shop.example>"));
        let page = server.owner.list_mail_addresses(&Page::default()).await;
        let told = &page.expect("a page").mail_addresses[0];
        assert_eq!(
            (told.sending.waiting, told.sending.failing_since),
            (0, None)
        );
    }
    assert_eq!(postbox.refused().len(), 2);
    assert_eq!(postbox.mails().len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_webhook_that_is_disabled_is_told_by_mail() {
    let postbox = Postbox::new();
    let server = server(mailing(&postbox)).await;
    address(&server, "owner@shop.example").await;
    let receiver =
        tigstock_tests::receiver::Receiver::judging(|_| tigstock_tests::receiver::Reply::of(410));
    let webhook = server.webhook(&receiver.url).await.webhook;
    let now = server.context.clock.now();
    // To the webhook alone.
    let mut told = event(EventKind::WarningTold, "cup-7", "one", now);
    told.channels.mail = false;
    record(&server.context, told).await;
    server.deliver().await;
    let mails = postbox.mails();
    assert_eq!(mails.len(), 1);
    let parsed = MessageParser::default().parse(mails[0].message.as_bytes());
    let text = parsed
        .expect("a mail")
        .body_text(0)
        .expect("text")
        .into_owned();
    assert!(text.contains(&webhook.url), "{text}");
    assert!(
        text.contains(&format!("/v1/webhooks/{}/enable", webhook.id)),
        "{text}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_address_that_is_none_is_refused_with_the_field_and_the_value() {
    let server = TestServer::at(NOW).await;
    for told in [
        "",
        "owner",
        "owner@",
        "@shop.example",
        "owner@shop.example, other@shop.example",
        "Owner <owner@shop.example>",
        "owner@shop.example\r\nBcc: all@shop.example",
        "owner@shop .example",
    ] {
        let body = json!({ "address": told });
        let heard = server.ask("POST", "/v1/mail-addresses").json(&body);
        let problem = heard.send().await.problem(ProblemKind::Invalid);
        let violation = &problem.violations[0];
        assert_eq!(violation.pointer, "/address", "{told}");
        assert!(violation.detail.contains(told.trim()), "{violation:?}");
        assert!(
            violation.detail.contains("owner@shop.example"),
            "{violation:?}"
        );
    }
    address(&server, "owner@shop.example").await;
    let body = json!({ "address": "owner@shop.example" });
    let again = server.ask("POST", "/v1/mail-addresses").json(&body);
    again.send().await.problem(ProblemKind::AlreadyExists);
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_mail_server_that_is_told_and_nothing_is_lost() {
    let before = TestServer::at(NOW).await;
    address(&before, "owner@shop.example").await;
    let page = before.owner.list_mail_addresses(&Page::default()).await;
    let says = page.expect("a page").says.expect("what is missing");
    assert!(says.contains("smtp_host"), "{says}");
    before.tell("cup-7", SAYS).await;
    before.deliver().await;
    before.context.clone().store.close().await.expect("closed");
    let postbox = Postbox::new();
    let clock = before.clock.clone();
    let after = TestServer::over_with(before.database(), clock, mailing(&postbox)).await;
    after.pass(TimeDelta::seconds(6));
    after.deliver().await;
    assert_eq!(postbox.mails().len(), 1);
}

#[tokio::test]
async fn settings_that_cannot_be_used_are_named() {
    let good = Config {
        smtp_host: Some("mail.example".to_owned()),
        mail_from: Some("tigstock@shop.example".to_owned()),
        ..Config::default()
    };
    Channels::new(&good).expect("it can be used");
    let without = |change: fn(&mut Config)| {
        let mut config = good.clone();
        change(&mut config);
        Channels::new(&config).expect_err("it cannot be used")
    };
    for (told, why) in [
        (without(|it| it.mail_from = None), "mail_from"),
        (
            without(|it| it.mail_from = Some("tigstock".to_owned())),
            "mail_from",
        ),
        (without(|it| it.smtp_tls = SmtpTls::None), "smtp_tls"),
        (
            without(|it| it.smtp_user = Some("tigstock".to_owned())),
            "smtp_password_file",
        ),
        (
            without(|it| {
                it.smtp_user = Some("tigstock".to_owned());
                it.smtp_password_file = Some("/nowhere/secret".into());
            }),
            "/nowhere/secret",
        ),
        (
            without(|it| it.public_url = Some("tigstock.example".to_owned())),
            "public_url",
        ),
        (
            without(|it| it.webhook_allow = vec!["10/8/9".to_owned()]),
            "webhook_allow",
        ),
    ] {
        assert!(told.contains(why), "{told}");
    }
}

#[tokio::test]
async fn a_password_is_in_no_debug_print() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("password");
    std::fs::write(&file, "hush-4711\n").expect("written");
    let config = Config {
        smtp_host: Some("mail.example".to_owned()),
        smtp_user: Some("tigstock".to_owned()),
        smtp_password_file: Some(file),
        mail_from: Some("tigstock@shop.example".to_owned()),
        ..Config::default()
    };
    let channels = Channels::new(&config).expect("it can be used");
    assert!(!format!("{channels:?} {config:?}").contains("hush-4711"));
}
