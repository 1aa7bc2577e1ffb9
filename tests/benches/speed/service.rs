//! The subject: the service as it runs, over a database of its own, with a torch in which five parts
//! are fitted and of which there are plenty. All names are invented.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};

use client::Client;
use server::app::{self, App};
use server::config::Config;
use server::service::{self, Clock, Context};
use server::store::Store;
use tempfile::TempDir;
use tigstock_tests::builders;
use tokio::runtime::Runtime;
use tokio::sync::oneshot;
use types::{NewKey, NewPart, NewSetUp, Role};

/// The part that is taken and whose stock is read.
pub(crate) const PART: &str = "WLa20-2.4";
/// The torch.
pub(crate) const TORCH: &str = "T1";

/// A service that runs until it is dropped.
#[derive(Debug)]
pub(crate) struct Service {
    /// Where it listens.
    pub(crate) address: SocketAddr,
    /// The secret of a key with the role `keep`.
    pub(crate) secret: String,
    _stop: oneshot::Sender<()>,
    runtime: Runtime,
    _folder: TempDir,
}

impl Service {
    /// Starts it, with as many workers as the program itself would have.
    pub(crate) fn start() -> Result<Self, String> {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let runtime = Runtime::new().map_err(|error| error.to_string())?;
        let (context, secret) = runtime
            .block_on(furnish(&folder))
            .map_err(|error| error.to_string())?;
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)));
        let listener = listener.map_err(|error| error.to_string())?;
        let address = listener.local_addr().map_err(|error| error.to_string())?;
        let (stop, stopped) = oneshot::channel();
        let app = App::new(context, Config::default())?;
        let workers = std::thread::available_parallelism().map_or(1, Into::into);
        runtime.spawn(app::run(app, listener, workers, async move {
            let _ = stopped.await;
        }));
        Ok(Self {
            address,
            secret,
            _stop: stop,
            runtime,
            _folder: folder,
        })
    }

    /// Asks it as a caller does, over its socket.
    pub(crate) fn ask<T, F>(&self, ask: impl FnOnce(Client) -> F) -> Result<T, String>
    where
        F: Future<Output = Result<T, client::Error>>,
    {
        let address = format!("http://{}", self.address);
        let client = Client::new(&address, Some(self.secret.clone()));
        let client = client.map_err(|error| error.to_string())?;
        let answer = self.runtime.block_on(ask(client));
        answer.map_err(|error| error.to_string())
    }
}

async fn furnish(folder: &TempDir) -> Result<(Context, String), service::Error> {
    let store = Store::open(&folder.path().join("speed.db")).await?;
    let context = Context::start(store, Clock::system());
    let key = NewKey {
        name: "load".to_owned(),
        role: Role::Keep,
        expires_at: None,
    };
    let secret = service::keys::create(&context, key).await?.secret;
    let parts = [
        builders::electrode(PART, "2.4 mm"),
        builders::collet("collet-2.4"),
        builders::gas_lens("gas-lens-2.4"),
        large("o-ring-large", "o-ring", None),
        large("back-cap-long", "back-cap", Some("long")),
    ];
    let codes = parts.iter().map(|part| part.code.clone()).collect();
    for part in parts {
        service::parts::create(&context, part).await?;
    }
    let torch = service::torches::create(&context, builders::torch(TORCH)).await?;
    let fitted = NewSetUp { parts: codes };
    service::torches::replace_set_up(&context, TORCH, torch.version, fitted).await?;
    Ok((context, secret))
}

fn large(code: &str, kind: &str, length: Option<&str>) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        length: length.map(str::to_owned),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}
