#![doc = include_str!("../README.md")]
//!
//! This file makes a client. What it can do is in one file per resource; how a request is sent and
//! its answer read is in `request`.

mod allocations;
mod buy_list;
mod cautions;
mod changes;
mod closings;
mod count_list;
mod counts;
mod courses;
mod current_bands;
mod drawers;
mod electrodes;
mod entries;
mod equivalences;
mod error;
mod events;
mod feeds;
mod fits;
mod forecasts;
mod health;
mod jobs;
mod keys;
mod kit_checks;
mod kit_counts;
mod kits;
mod lots;
mod lulls;
mod mail_addresses;
mod movements;
mod offers;
mod orders;
mod parts;
mod photos;
pub mod private;
mod procedure_matches;
mod procedures;
pub mod profile;
mod questions;
mod receipts;
mod request;
mod reversals;
mod run_outs;
mod seats;
mod sheets;
mod sites;
mod stock;
mod stubs;
mod suppliers;
mod torch_wear;
mod torches;
mod track_record;
mod transfers;
mod usage;
mod walk;
mod warnings;
mod watches;
mod webhooks;

use std::time::Duration;

use reqwest::Url;
use reqwest::header::{AUTHORIZATION, HeaderMap, HeaderValue};

pub use error::Error;
pub use events::{Events, Told};
pub use sheets::SheetName;
pub use walk::{Cursor, Paged, every};

/// Where a service listens unless told otherwise.
pub const SERVER_DEFAULT: &str = "http://127.0.0.1:8710";

// A service in the shop answers a connection at once; a longer wait only keeps a person standing.
const CONNECT_TIMEOUT: Duration = Duration::from_secs(3);
const TIMEOUT: Duration = Duration::from_secs(30);

/// A caller of one service, with one key. Clones share their connections.
#[derive(Clone, Debug)]
pub struct Client {
    base: Url,
    http: reqwest::Client,
}

impl Client {
    /// A client of the service at `base_url`, such as `http://127.0.0.1:8710`, that shows `key`, the
    /// secret of a key. Nothing is sent yet.
    ///
    /// # Errors
    /// [`Error::Address`] if `base_url` is not an `http` or `https` address, [`Error::Key`] if the
    /// secret cannot be sent, [`Error::Transport`] if the system's certificates cannot be read.
    pub fn new(base_url: &str, key: Option<String>) -> Result<Self, Error> {
        let base = address(base_url)?;
        // The one provider of cryptography; it is there already when a second client is made.
        rustls::crypto::ring::default_provider()
            .install_default()
            .ok();
        let mut builder = reqwest::Client::builder()
            .connect_timeout(CONNECT_TIMEOUT)
            .timeout(TIMEOUT)
            .redirect(reqwest::redirect::Policy::none())
            .user_agent(concat!("tigstock-client/", env!("CARGO_PKG_VERSION")));
        if let Some(key) = key {
            builder = builder.default_headers(authorization(&key)?);
        }
        if base.scheme() == "http" {
            // Without TLS the system's certificates are not needed; a machine may have none.
            builder = builder.tls_certs_only([]);
        }
        if is_loopback(&base) {
            builder = builder.no_proxy();
        }
        Ok(Self {
            base,
            http: builder.build()?,
        })
    }

    /// The address of the service, in one spelling: with its port where that is not the usual one,
    /// and with a slash at the end.
    pub fn server(&self) -> &str {
        self.base.as_str()
    }
}

/// Whether two addresses name the same service, however they are spelled.
pub fn is_same_server(left: &str, right: &str) -> bool {
    match (address(left), address(right)) {
        (Ok(left), Ok(right)) => left == right,
        _ => false,
    }
}

/// The address with a slash at the end, so that paths can be added to it.
fn address(base_url: &str) -> Result<Url, Error> {
    let refuse = |why: &str| Error::Address {
        address: base_url.to_owned(),
        why: why.to_owned(),
    };
    let mut base = Url::parse(base_url.trim()).map_err(|error| refuse(&error.to_string()))?;
    if !matches!(base.scheme(), "http" | "https") {
        return Err(refuse("give http:// or https://"));
    }
    if base.query().is_some() || base.fragment().is_some() {
        return Err(refuse("give the address without ? and #"));
    }
    if !base.path().ends_with('/') {
        base.set_path(&format!("{}/", base.path()));
    }
    Ok(base)
}

fn authorization(key: &str) -> Result<HeaderMap, Error> {
    let mut value =
        HeaderValue::from_str(&format!("Bearer {}", key.trim())).map_err(|_| Error::Key)?;
    // Keeps the secret out of every debug print.
    value.set_sensitive(true);
    Ok(HeaderMap::from_iter([(AUTHORIZATION, value)]))
}

fn is_loopback(base: &Url) -> bool {
    let host = base.host_str().unwrap_or_default().trim_matches(['[', ']']);
    host == "localhost"
        || host
            .parse()
            .is_ok_and(|ip: std::net::IpAddr| ip.is_loopback())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_the_same_with_and_without_a_slash() {
        assert!(is_same_server(
            "http://Bench.example:80",
            "http://bench.example/"
        ));
        assert!(!is_same_server(
            "http://bench.example",
            "https://bench.example"
        ));
        assert!(!is_same_server("bench", "bench"));
    }

    #[test]
    fn an_address_without_a_scheme_is_refused_with_its_own_words() {
        let error = Client::new("bench.example:8710", None).expect_err("it has no http://");
        assert!(error.to_string().contains("bench.example:8710"), "{error}");
    }

    #[test]
    fn a_debug_print_does_not_show_the_secret() {
        let client = Client::new(SERVER_DEFAULT, Some("hush-4711".to_owned())).expect("it is fine");
        assert!(!format!("{client:?}").contains("hush-4711"));
    }

    #[test]
    fn a_secret_with_a_line_break_is_refused() {
        let error = Client::new(SERVER_DEFAULT, Some("a\nb".to_owned())).expect_err("not a header");
        assert!(matches!(error, Error::Key));
    }
}
