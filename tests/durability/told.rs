//! The service is killed between the commit of what is told and its delivery, and while a receiver holds it:
//! after the next start everything arrives, under the id that it had from the beginning.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use client::Client;
use tigstock_tests::programs::{Home, Serving};
use tigstock_tests::receiver::{Receiver, Reply};
use tigstock_tests::told::tell_low;
use types::{Event, EventKind, FollowEvents, NewSite, NewWebhook};

/// How often it is killed.
const KILLS: usize = 8;
/// How long may pass until what a test waits for is there; it fails the test, and paces nothing.
const PATIENCE: Duration = Duration::from_mins(1);
/// How often one looks whether it is there.
const GLANCE: Duration = Duration::from_millis(10);

struct Shop {
    home: Home,
    key: String,
}

impl Shop {
    /// A shop that sends to a receiver and may tell as much as it likes in a week.
    async fn new(receiver: &Receiver) -> (Self, Serving) {
        let home = Home::new();
        let settings = "webhook_http = true\nwebhook_allow = [\"127.0.0.0/8\"]\n";
        std::fs::write(home.path("work/settings.toml"), settings).expect("settings");
        let serving = Serving::start(&mut serve(&home));
        let key = home.owners_key();
        let shop = Self { home, key };
        let owner = shop.client(&serving);
        let site = owner.get_site("shop").await.expect("the first site");
        let version = site.version;
        let talks = NewSite {
            weekly_limit: Some(1_000),
            ..site.into_new()
        };
        owner
            .replace_site("shop", &talks, version)
            .await
            .expect("it is set");
        let new = NewWebhook {
            url: receiver.url.clone(),
            ..NewWebhook::default()
        };
        owner.create_webhook(&new).await.expect("a webhook");
        (shop, serving)
    }

    fn again(&self) -> Serving {
        Serving::start(&mut serve(&self.home))
    }

    fn client(&self, serving: &Serving) -> Client {
        Client::new(&serving.url, Some(self.key.clone())).expect("a client")
    }
}

fn serve(home: &Home) -> std::process::Command {
    let mut command = home.server();
    command.args(["serve", "--listen", "127.0.0.1:0", "--config"]);
    command.arg(home.path("work/settings.toml"));
    command
}

/// All that was told about warnings.
async fn told(owner: &Client) -> Vec<Event> {
    let query = FollowEvents {
        after: Some(0),
        once: Some(true),
    };
    let mut stream = owner.follow_events(&query).await.expect("a stream");
    let mut events = Vec::new();
    while let Some(told) = stream.next().await.expect("it goes on") {
        if let client::Told::Event(event) = told {
            events.push(*event);
        }
    }
    events.retain(|event| event.kind == EventKind::WarningTold);
    events
}

async fn wait(what: &str, is_there: impl Fn() -> bool) {
    let waiting = async {
        while !is_there() {
            tokio::time::sleep(GLANCE).await;
        }
    };
    let waited = tokio::time::timeout(PATIENCE, waiting).await;
    waited.unwrap_or_else(|_| panic!("{what}"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_told_before_a_kill_arrives_after_it_under_the_same_id() {
    let holds = Arc::new(AtomicBool::new(true));
    let told_to = Arc::clone(&holds);
    // While it holds, an answer comes later than any kill.
    let receiver = Receiver::judging(move |_| {
        if told_to.load(Ordering::SeqCst) {
            Reply::Late(Duration::from_secs(30))
        } else {
            Reply::of(204)
        }
    });
    let (shop, mut serving) = Shop::new(&receiver).await;
    for round in 0..KILLS {
        let owner = shop.client(&serving);
        let part = format!("rod-{round}");
        let before = receiver.got().len();
        tell_low(&owner, &part).await;
        // Every second time the kill waits until the receiver has it in hand, and has not answered.
        if round % 2 == 1 {
            wait("the receiver gets something", || {
                receiver.got().len() > before
            })
            .await;
        }
        serving.kill();
        serving = shop.again();
    }
    holds.store(false, Ordering::SeqCst);
    // One more kill while all that waits goes out.
    serving.kill();
    let serving = shop.again();
    let owner = shop.client(&serving);
    let events = told(&owner).await;
    let subjects: BTreeSet<String> = events.iter().map(|it| it.subject.clone()).collect();
    let expected: BTreeSet<String> = (0..KILLS).map(|it| format!("rod-{it}")).collect();
    assert_eq!(
        subjects, expected,
        "each was told, and nothing that was told is lost"
    );
    assert_eq!(events.len(), KILLS, "each was told once");
    let ids: BTreeSet<String> = events.iter().map(|it| it.id.to_string()).collect();
    wait("everything arrives", || {
        let arrived: BTreeSet<String> = receiver.ids().into_iter().collect();
        arrived.is_superset(&ids)
    })
    .await;
    // Whatever came twice came under one id, with the same words.
    let mut bodies: BTreeMap<String, BTreeSet<Vec<u8>>> = BTreeMap::new();
    for got in receiver.got() {
        bodies
            .entry(got.id().to_owned())
            .or_default()
            .insert(got.body);
    }
    for (id, bodies) in &bodies {
        assert!(ids.contains(id), "nothing arrives that was not told");
        assert_eq!(bodies.len(), 1, "{id}");
    }
    // What a receiver held when the service died is sent again: it cannot be known that it arrived.
    assert!(receiver.got().len() > ids.len(), "{}", receiver.got().len());
    assert!(serving.stop().0, "it ends well");
}
