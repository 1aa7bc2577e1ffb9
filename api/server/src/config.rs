//! Every setting of the service, with its default.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::time::Duration;

use serde::Deserialize;

use crate::store::Location;

/// The settings.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(default, deny_unknown_fields)]
pub struct Config {
    /// Where to listen.
    pub listen: SocketAddr,
    /// The database: a file, or the address of one on PostgreSQL, `postgres://...`;
    /// `tigstock/tigstock.db` in the platform's data folder unless told.
    pub database: Option<Location>,
    /// How many connections to PostgreSQL read at once.
    pub database_readers: u32,
    /// How long one statement on PostgreSQL may take, in seconds.
    pub database_statement_seconds: u64,
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
    /// Whether what happened is sent in the background: mail and webhooks.
    pub deliver: bool,
    /// The address under which people reach the service, such as `https://tigstock.example`: for links in
    /// mails and in QR codes, which say in words what they are of without it.
    pub public_url: Option<String>,
    /// Whether webhooks may have `http` addresses.
    pub webhook_http: bool,
    /// Blocks of addresses that webhooks may lead to though they are private, such as `10.1.0.0/16`.
    pub webhook_allow: Vec<String>,
    /// The mail server; no mail without one.
    pub smtp_host: Option<String>,
    /// Its port; 587 for `starttls`, 465 for `tls`, 25 for `none` unless told.
    pub smtp_port: Option<u16>,
    /// How the connection to it is made private.
    pub smtp_tls: SmtpTls,
    /// Who logs in there; nobody unless told.
    pub smtp_user: Option<String>,
    /// A file with the password; `TIGSTOCK_SMTP_PASSWORD` unless told.
    pub smtp_password_file: Option<PathBuf>,
    /// Who mails are from.
    pub mail_from: Option<String>,
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

/// How the connection to a mail server is made private.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
pub enum SmtpTls {
    /// It begins in the clear and must change over (RFC 3207).
    #[default]
    Starttls,
    /// From the start (RFC 8314).
    Tls,
    /// Not at all; only for a mail server on this machine.
    None,
}

/// A batch of 1000 entries with notes is about half of this.
const BODY_LIMIT_BYTES: usize = 1_048_576;

impl Default for Config {
    fn default() -> Self {
        Self {
            listen: SocketAddr::from(([127, 0, 0, 1], 8710)),
            database: None,
            database_readers: 8,
            database_statement_seconds: 30,
            log: "info".to_owned(),
            log_format: LogFormat::Text,
            body_limit_bytes: BODY_LIMIT_BYTES,
            request_timeout_seconds: 30,
            look_every_seconds: 60,
            deliver: true,
            public_url: None,
            webhook_http: false,
            webhook_allow: Vec::new(),
            smtp_host: None,
            smtp_port: None,
            smtp_tls: SmtpTls::Starttls,
            smtp_user: None,
            smtp_password_file: None,
            mail_from: None,
            keyless: false,
        }
    }
}

impl Config {
    /// The database: as told, else a file in the platform's data folder.
    ///
    /// # Errors
    /// The platform has no data folder, and no file was told; or a limit is nothing.
    pub fn database(&self) -> Result<Location, String> {
        match &self.database {
            Some(Location::Postgres(server)) => {
                if self.database_readers == 0 {
                    return Err("database_readers: 0 would read nothing; give 1 or more".to_owned());
                }
                let limit = Duration::from_secs(self.database_statement_seconds);
                let server = server.clone().within(self.database_readers, limit);
                Ok(Location::Postgres(server))
            }
            Some(file) => Ok(file.clone()),
            None => {
                let folder = dirs::data_dir().ok_or(
                    "this account has no data folder; say where the database is with --database FILE",
                )?;
                Ok(Location::File(folder.join("tigstock").join("tigstock.db")))
            }
        }
    }

    /// The database, which must be a file; `instead` says what does the same for a server.
    ///
    /// # Errors
    /// It is none, or [`Config::database`] fails.
    pub fn database_file(&self, instead: &str) -> Result<PathBuf, String> {
        match self.database()? {
            Location::File(file) => Ok(file),
            server @ Location::Postgres(_) => {
                Err(format!("{server}: this is for a database file; {instead}"))
            }
        }
    }
}
