//! Every setting of the service, with its default.

use std::net::SocketAddr;
use std::path::PathBuf;

use serde::Deserialize;

/// The settings.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(default, deny_unknown_fields)]
pub struct Config {
    /// Where to listen.
    pub listen: SocketAddr,
    /// The database file; `tigstock/tigstock.db` in the platform's data folder unless told.
    pub database: Option<PathBuf>,
    /// What to log, as a filter of `tracing`: `info`, `warn`, `server=debug`.
    pub log: String,
    /// `text` for people, `json` for machines.
    pub log_format: LogFormat,
    /// The largest body that is taken, in bytes.
    pub body_limit_bytes: usize,
    /// How long a request may take, in seconds.
    pub request_timeout_seconds: u64,
    /// How often everything that is watched is looked at, in seconds; 0 for only when asked.
    pub look_every_seconds: u64,
    /// No key is needed. Only the demo sets it, on loopback; no file or flag can.
    #[serde(skip)]
    pub keyless: bool,
}

/// How log lines are written.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum LogFormat {
    /// For people.
    #[default]
    Text,
    /// For machines, one JSON object a line.
    Json,
}

/// A batch of 1000 entries with notes is about half of this.
const BODY_LIMIT_BYTES: usize = 1_048_576;

impl Default for Config {
    fn default() -> Self {
        Self {
            listen: SocketAddr::from(([127, 0, 0, 1], 8710)),
            database: None,
            log: "info".to_owned(),
            log_format: LogFormat::Text,
            body_limit_bytes: BODY_LIMIT_BYTES,
            request_timeout_seconds: 30,
            look_every_seconds: 60,
            keyless: false,
        }
    }
}

impl Config {
    /// The database file: as told, else in the platform's data folder.
    ///
    /// # Errors
    /// The platform has no data folder, and no file was told.
    pub fn database(&self) -> Result<PathBuf, String> {
        if let Some(file) = &self.database {
            return Ok(file.clone());
        }
        let folder = dirs::data_dir().ok_or(
            "this account has no data folder; say where the database is with --database FILE",
        )?;
        Ok(folder.join("tigstock").join("tigstock.db"))
    }
}
