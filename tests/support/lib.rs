//! What the suites share: a server of their own for each test, on a port of its own, over a database
//! of its own, with a key for every role. Tests speak to it over a real socket through the client.

#![expect(
    clippy::missing_panics_doc,
    reason = "what the suites share fails a test by a panic"
)]

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use client::Client;
use server::app::{self, App};
use server::channels::Channels;
use server::config::Config;
use server::service::{self, Clock, Context};
use server::store::{Location, Store};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use types::{NewKey, Role};

use crate::database::Scratch;

pub mod builders;
pub mod crash;
pub mod database;
pub mod demo;
pub mod door;
pub mod files;
pub mod fortnight;
pub mod front_ends;
pub mod postbox;
pub mod procedure;
pub mod programs;
pub mod raw;
pub mod receiver;
pub mod run_outs;
pub mod school;
pub mod shop;
pub mod silent;
pub mod told;
pub mod watched;
pub mod wire;

/// A running server with a database that goes away with it.
#[derive(Debug)]
pub struct TestServer {
    /// Where it listens, such as `http://127.0.0.1:40123`.
    pub url: String,
    /// A client with the owner's key.
    pub owner: Client,
    /// The clock of the server; it stands until it is set, unless the server has the system's.
    pub clock: Clock,
    /// What the server works with, for checks below the API.
    pub context: Context,
    /// What the server sends with, for tests that send by hand.
    pub channels: Channels,
    keys: Vec<(Role, String)>,
    stop: Option<oneshot::Sender<()>>,
    serving: Option<JoinHandle<std::io::Result<()>>>,
    scratch: Arc<Scratch>,
}

impl TestServer {
    /// A server whose clock is the system's.
    pub async fn start() -> Self {
        Self::with_clock(Clock::system()).await
    }

    /// A server whose clock stands at an instant (RFC 3339) until it is set.
    pub async fn at(now: &str) -> Self {
        Self::with_clock(Clock::standing_at(instant(now))).await
    }

    /// A server with that clock.
    pub async fn with_clock(clock: Clock) -> Self {
        Self::with_config(clock, config()).await
    }

    /// A server with that clock and those settings.
    pub async fn with_config(clock: Clock, config: Config) -> Self {
        Self::over_scratch(Arc::new(Scratch::new().await), clock, config).await
    }

    /// A server over a database file, whatever the others are on.
    pub async fn on_file(clock: Clock, config: Config) -> Self {
        Self::over_scratch(Arc::new(Scratch::file()), clock, config).await
    }

    /// A server over a copy of a database, with keys of its own beside those that are in it.
    pub async fn over(database: impl Into<Location>, clock: Clock) -> Self {
        Self::over_with(database, clock, config()).await
    }

    /// The same with those settings.
    pub async fn over_with(database: impl Into<Location>, clock: Clock, config: Config) -> Self {
        let copy = Scratch::copy_of(&database.into()).await;
        Self::over_scratch(Arc::new(copy), clock, config).await
    }

    /// Another server over the same database, as another process would be one.
    pub async fn beside(&self) -> Self {
        Self::over_scratch(Arc::clone(&self.scratch), self.clock.clone(), config()).await
    }

    async fn over_scratch(scratch: Arc<Scratch>, clock: Clock, config: Config) -> Self {
        let store = Store::open(scratch.location()).await.expect("a database");
        let context = Context::start(store, clock.clone());
        let mut keys = Vec::new();
        for role in Role::ALL {
            let new = NewKey {
                name: format!("test {}", role.as_str()),
                role,
                expires_at: None,
            };
            let made = service::keys::create(&context, new).await.expect("a key");
            keys.push((role, made.secret));
        }
        let listener =
            TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0))).expect("a port");
        let url = format!("http://{}", listener.local_addr().expect("an address"));
        let (stop, asked) = oneshot::channel::<()>();
        let stopping = async move {
            // The sender was used or dropped: either way the test is over.
            let _ = asked.await;
        };
        let app = App::new(context.clone(), config).expect("settings");
        let channels = app.channels.clone();
        let serving = tokio::spawn(app::run(app, listener, 1, stopping));
        let owner = client_with(&url, &keys, Role::Own);
        Self {
            url,
            owner,
            clock,
            context,
            channels,
            keys,
            stop: Some(stop),
            serving: Some(serving),
            scratch,
        }
    }

    /// The secret of the key with that role.
    pub fn key(&self, role: Role) -> &str {
        key(&self.keys, role)
    }

    /// A client whose key has that role.
    pub fn client(&self, role: Role) -> Client {
        client_with(&self.url, &self.keys, role)
    }

    /// Where the database is.
    pub fn database(&self) -> &Location {
        self.scratch.location()
    }

    /// The database file, for what is about files.
    pub fn file(&self) -> &std::path::Path {
        self.database().file().expect("a file")
    }

    /// Where the database is, as a program is told of it.
    pub fn address(&self) -> String {
        self.scratch.address()
    }

    /// Moves a standing clock on.
    pub fn pass(&self, time: TimeDelta) {
        self.clock.set(self.clock.now() + time);
    }

    /// Moves a standing clock to an instant (RFC 3339).
    pub fn set_clock(&self, now: &str) {
        self.clock.set(instant(now));
    }

    /// Stops the server and waits for its end.
    pub async fn stop(mut self) {
        drop(self.stop.take());
        if let Some(serving) = self.serving.take() {
            serving
                .await
                .expect("the server ends")
                .expect("it ends well");
        }
    }
}

/// The settings of a test: nothing is sent in the background, and webhooks may lead to this machine.
pub fn config() -> Config {
    Config {
        deliver: false,
        webhook_http: true,
        webhook_allow: vec!["127.0.0.0/8".to_owned()],
        ..Config::default()
    }
}

/// An instant of RFC 3339.
pub fn instant(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text)
        .expect("an instant of RFC 3339")
        .to_utc()
}

fn key(keys: &[(Role, String)], role: Role) -> &str {
    let found = keys.iter().find(|(has, _)| *has == role);
    found
        .map(|(_, secret)| secret.as_str())
        .expect("a key for every role")
}

fn client_with(url: &str, keys: &[(Role, String)], role: Role) -> Client {
    Client::new(url, Some(key(keys, role).to_owned())).expect("a client")
}
