//! The worked example of a low-stock warning, with a webhook receiver and a mail server that count: one
//! message when the order point is reached, nothing until the parcel is in, and one line in the digest.

use mail_parser::MessageParser;
use server::service::digests;
use tigstock_tests::TestServer;
use tigstock_tests::postbox::Postbox;
use tigstock_tests::receiver::Receiver;
use types::NewArrival;

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
    }
    shop.works(17, Some("took")).await;
    assert_eq!(shop.warnings().await, 1);
    let body = shop.receiver.got()[0].json();
    assert_eq!(body["data"]["says"], MESSAGE);
    assert_eq!(body["subject"], "WLa20-1.6");
    assert!(shop.mail().contains(MESSAGE), "{}", shop.mail());
    shop.works(18, Some("took")).await;
    assert_eq!(shop.warnings().await, 1, "it was told already");
    shop.works(19, Some("put-back")).await;
    assert_eq!(shop.warnings().await, 1, "one put back clears nothing");
    shop.server.set_clock("2026-06-22T09:00:00-03:00");
    let order = shop.server.orders_ten("WLa20-1.6").await;
    assert_eq!(shop.warnings().await, 1, "it is on order");
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
