//! The worked example of a low-stock warning, with a webhook receiver, a mail server and a calendar reader that
//! count: one message when the order point is reached, nothing until the parcel is in, and one line in the digest.

use ical::IcalParser;
use mail_parser::MessageParser;
use server::service::digests;
use tigstock_tests::TestServer;
use tigstock_tests::postbox::Postbox;
use tigstock_tests::receiver::Receiver;
use tigstock_tests::watched::WATCHED;
use types::{GetCalendar, NewArrival, NewWatch};

use crate::mail::{address, mailing};

/// What the message says, as the example has it.
const MESSAGE: &str = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; delivery takes \
                       1 week. Next: 1 pack of 10, Quayhead, by Mon 22 Jun.";

struct Shop {
    server: TestServer,
    postbox: Postbox,
    receiver: Receiver,
}

impl Shop {
    async fn new() -> Self {
        let shop = TestServer::watched_shop().await;
        shop.context.clone().store.close().await.expect("closed");
        let postbox = Postbox::new();
        let clock = shop.clock.clone();
        let server = TestServer::over_with(shop.database(), clock, mailing(&postbox)).await;
        address(&server, "owner@shop.example").await;
        let receiver = Receiver::start();
        server.webhook(&receiver.url).await;
        let watch = NewWatch {
            part: Some(WATCHED.to_owned()),
            channels: ["mail", "webhook", "calendar"].map(str::to_owned).to_vec(),
            ..NewWatch::default()
        };
        server.owner.create_watch(&watch).await.expect("a watch");
        Self {
            server,
            postbox,
            receiver,
        }
    }

    /// Looks and sends, as the service does by itself; what came in since the beginning: the kinds of
    /// what the webhook got. The mail server has as many.
    async fn told(&self) -> Vec<String> {
        self.server.looks().await;
        let made = digests::make_due(&self.server.context).await;
        made.expect("digests");
        self.server.deliver().await;
        let got = self.receiver.got();
        assert_eq!(self.postbox.mails().len(), got.len(), "as many by mail");
        let kinds = got.iter().map(|got| got.json()["type"].clone());
        kinds
            .map(|kind| kind.as_str().expect("a type").to_owned())
            .collect()
    }

    /// How many warnings were told; digests are none.
    async fn warnings(&self) -> usize {
        let told = self.told().await;
        told.iter()
            .filter(|kind| kind.starts_with("tigstock.warning."))
            .count()
    }

    /// What a calendar reader sees: how many warnings, each with the words that were told, and how many
    /// deliveries.
    async fn calendar(&self) -> (usize, usize) {
        let query = GetCalendar::default();
        let feed = self.server.owner.get_calendar(&query).await;
        let feed = feed.expect("a calendar");
        let mut read = IcalParser::new(feed.as_bytes());
        let calendar = read.next().expect("a calendar").expect("it can be read");
        let summaries = calendar.events.into_iter().map(|event| {
            let mut properties = event.properties.into_iter();
            let summary = properties.find(|it| it.name == "SUMMARY");
            summary.and_then(|it| it.value).unwrap_or_default()
        });
        // A reader undoes the escapes of text (RFC 5545, 3.3.11).
        let summaries: Vec<String> = summaries
            .map(|text| text.replace("\\;", ";").replace("\\,", ","))
            .collect();
        let starts = |with: &str| summaries.iter().filter(|it| it.starts_with(with)).count();
        let warnings = starts(MESSAGE);
        assert_eq!(starts("Electrode"), warnings, "{summaries:?}");
        (warnings, starts("Delivery from quayhead: 10 WLa20-1.6"))
    }

    /// The text of the newest mail.
    fn mail(&self) -> String {
        let mails = self.postbox.mails();
        let newest = mails.last().expect("a mail");
        let parsed = MessageParser::default().parse(newest.message.as_bytes());
        let parsed = parsed.expect("a mail");
        parsed.body_text(0).expect("text").into_owned()
    }

    /// Works at noon of a day of June, and says what was done.
    async fn works(&self, day: u32, what: Option<&str>) {
        self.server
            .set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        self.server.works(what).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn one_size_runs_low_and_one_message_arrives() {
    let shop = Shop::new().await;
    assert_eq!(shop.warnings().await, 0);
    for day in [15, 16] {
        shop.works(day, None).await;
        assert_eq!(shop.warnings().await, 0, "{day} June");
        assert_eq!(shop.calendar().await, (0, 0), "{day} June");
    }
    shop.works(17, Some("took")).await;
    assert_eq!(shop.warnings().await, 1);
    assert_eq!(shop.calendar().await, (1, 0));
    let body = shop.receiver.got()[0].json();
    assert_eq!(body["data"]["says"], MESSAGE);
    assert_eq!(body["subject"], "WLa20-1.6");
    assert!(shop.mail().contains(MESSAGE), "{}", shop.mail());
    shop.works(18, Some("took")).await;
    assert_eq!(shop.warnings().await, 1, "it was told already");
    assert_eq!(shop.calendar().await, (1, 0));
    shop.works(19, Some("put-back")).await;
    assert_eq!(shop.warnings().await, 1, "one put back clears nothing");
    assert_eq!(shop.calendar().await, (1, 0));
    shop.server.set_clock("2026-06-22T09:00:00-03:00");
    let order = shop.server.orders_ten(WATCHED).await;
    assert_eq!(shop.warnings().await, 1, "it is on order");
    assert_eq!(shop.calendar().await, (0, 1), "what is on order is due");
    shop.server.set_clock("2026-06-29T10:00:00-03:00");
    let came = NewArrival::default();
    let received = shop
        .server
        .owner
        .receive_order(order, &came, "parcel")
        .await;
    received.expect("received");
    let before = shop.told().await;
    assert_eq!(shop.warnings().await, 1, "that it is over is no message");
    assert_eq!(shop.calendar().await, (0, 0));
    // The next digest has one line about it.
    shop.server.set_clock("2026-07-05T18:00:00-03:00");
    let after = shop.told().await;
    assert_eq!(after.len(), before.len() + 1);
    assert_eq!(
        after.last().map(String::as_str),
        Some("tigstock.digest.ready")
    );
    let mail = shop.mail();
    let closed: Vec<&str> = mail
        .lines()
        .filter(|line| line.contains("closed"))
        .collect();
    assert_eq!(closed.len(), 1, "{mail}");
    assert!(closed[0].contains("14 available"), "{mail}");
}

#[tokio::test(flavor = "multi_thread")]
async fn one_more_message_arrives_when_a_stop_has_become_likely() {
    let shop = Shop::new().await;
    for (day, what) in [(15, None), (16, None), (17, Some("took"))] {
        shop.works(day, what).await;
    }
    assert_eq!(shop.warnings().await, 1);
    shop.server.set_clock("2026-06-22T00:00:00-03:00");
    shop.server.orders_ten(WATCHED).await;
    for _ in 0..3 {
        shop.server.works(Some("took")).await;
    }
    // One is left: P(use <= 1) over the week until the parcel is 0.84.
    assert_eq!(shop.warnings().await, 2);
    let kinds = shop.told().await;
    let escalated = kinds
        .iter()
        .filter(|kind| *kind == "tigstock.warning.escalated");
    assert_eq!(escalated.count(), 1, "{kinds:?}");
    let newest = shop.receiver.got().into_iter().map(|got| got.json());
    let says = newest.map(|body| body["data"]["says"].as_str().unwrap_or_default().to_owned());
    let louder = "16 % chance of being short before 29 Jun";
    assert_eq!(says.filter(|says| says.contains(louder)).count(), 1);
    let mails = shop.postbox.mails();
    let texts = mails.iter().map(|mail| {
        let parsed = MessageParser::default().parse(mail.message.as_bytes());
        parsed
            .expect("a mail")
            .body_text(0)
            .expect("text")
            .into_owned()
    });
    assert_eq!(texts.filter(|text| text.contains(louder)).count(), 1);
    assert_eq!(shop.warnings().await, 2, "once");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_to_a_wrong_warning_is_a_count() {
    let shop = Shop::new().await;
    for (day, what) in [(15, None), (16, None), (17, Some("took"))] {
        shop.works(day, what).await;
    }
    assert_eq!(shop.warnings().await, 1);
    let mail = shop.mail();
    let link = mail.lines().find(|line| line.contains("/count/"));
    let path = link.expect("a link").trim();
    let path = path.strip_prefix("https://tigstock.example").expect("ours");
    shop.server.set_clock("2026-06-17T13:00:00-03:00");
    let form = "form=01977b6a-0000-7000-8000-000000000001&counted=12".to_owned();
    let ask = shop.server.ask_without_key("POST", path);
    let heard = ask.text("application/x-www-form-urlencoded", form);
    assert_eq!(heard.send().await.status, 200);
    assert_eq!(shop.server.on_hand("WLa20-1.6").await, 12);
    let look = shop.server.looks().await;
    assert_eq!((look.told.len(), look.closed.len()), (0, 1), "{look:?}");
    assert_eq!(shop.warnings().await, 1, "nothing more is told");
}
