//! The demo: a fresh database in a temporary folder, a server on loopback, three years of an
//! invented shop posted through the API, and the answer to its one question. The only part of the
//! server, with the first start, that names the client.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::pin::pin;

use chrono::{DateTime, Utc};
use client::Client;
use tokio::sync::oneshot;
use types::GetNeeds;

use crate::app::{self, App};
use crate::cli::{DemoFormat, Failure, chain, say, stopped};
use crate::config::Config;
use crate::service::{Clock, Context};
use crate::store::Store;

mod report;
mod shop;

pub use shop::{JOB, furnish};

/// Where the demo listens if that place is free, so that lines can be copied from the documentation.
const PORT: u16 = 8710;

/// Runs the demo.
///
/// # Errors
/// What went wrong, in words.
pub async fn run(once: bool, format: DemoFormat) -> Result<(), Failure> {
    let mut stopped = pin!(stopped());
    let folder = tempfile::tempdir().map_err(|error| format!("no temporary folder: {error}"))?;
    let store = Store::open(&folder.path().join("demo.db"))
        .await
        .map_err(|error| chain(&error))?;
    let config = Config {
        keyless: true,
        log: "warn".to_owned(),
        deliver: false,
        ..Config::default()
    };
    let context = Context::start(store.clone(), Clock::system());
    let now = context.clock.now();
    let listener = listen(once)?;
    let address = listener.local_addr().map_err(|error| error.to_string())?;
    let (stop, asked) = oneshot::channel::<()>();
    let stopping = async move {
        // Asked to stop, or the asker is gone: either way it is time.
        let _ = asked.await;
    };
    let app = App::new(context, config)?;
    let serving = tokio::spawn(app::run(app, listener, 2, stopping));
    let server = format!("http://{address}");
    let client = Client::new(&server, None).map_err(|error| chain(&error))?;
    // Whoever interrupts the demo early leaves nothing behind either: the folder goes with this call.
    tokio::select! {
        told = tell(&client, now, format) => {
            told?;
            if !once {
                say(&report::invitation(&server))?;
                stopped.await;
            }
        }
        () = &mut stopped => {}
    }
    drop(stop);
    let ended = serving.await.map_err(|error| error.to_string())?;
    ended.map_err(|error| error.to_string())?;
    store.close().await.map_err(|error| chain(&error))
}

/// Furnishes the shop and tells the answer.
async fn tell(client: &Client, now: DateTime<Utc>, format: DemoFormat) -> Result<(), Failure> {
    furnish(client, now, report::progress)
        .await
        .map_err(|error| chain(&error))?;
    let needs = client
        .get_job_needs(JOB, &GetNeeds::default())
        .await
        .map_err(|error| chain(&error))?;
    match format {
        DemoFormat::Json => say(&report::json(&needs)),
        DemoFormat::Text => say(&report::text(&needs)),
    }
}

fn listen(once: bool) -> Result<TcpListener, Failure> {
    let port = if once { 0 } else { PORT };
    TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)))
        .or_else(|_| TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0))))
        .map_err(|error| format!("cannot listen on loopback: {error}"))
}

/// Asks a running service whether it is ready.
///
/// # Errors
/// It is not, or it does not answer.
pub async fn healthcheck(server: &str) -> Result<(), Failure> {
    let client = Client::new(server, None).map_err(|error| chain(&error))?;
    let health = client
        .get_readiness()
        .await
        .map_err(|error| chain(&error))?;
    say(&format!("{}\n", health.status))
}
