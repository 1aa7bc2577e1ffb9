//! Sending mail: one message an event and address, over SMTP. What it says is in `letter`; when and how
//! often it is tried is for `service::deliveries` to say.

use std::time::{Duration, SystemTime};

use lettre::message::header::{Header, HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart};
use lettre::transport::smtp::authentication::Credentials;
use lettre::{Address, AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use types::Event;

use super::chain;
use super::letter::Letter;
use crate::config::{Config, SmtpTls};
use crate::service::deliveries::Outcome;

/// How long each step of a conversation with the mail server may take.
const TIMEOUT: Duration = Duration::from_secs(10);
/// How long a try may take in all; less than a delivery is in hand.
const TRY_TIMEOUT: Duration = Duration::from_secs(45);
/// Where the password is, if no file was told.
const PASSWORD_VARIABLE: &str = "TIGSTOCK_SMTP_PASSWORD";

type Smtp = AsyncSmtpTransport<Tokio1Executor>;

/// Sends mail by one server.
#[derive(Clone, Debug)]
pub struct Sender {
    smtp: Smtp,
    from: Mailbox,
}

/// Tells other machines that nobody wrote this, so that none answers it (RFC 3834 5).
#[derive(Clone, Debug)]
struct AutoSubmitted;

impl Header for AutoSubmitted {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("Auto-Submitted")
    }

    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self)
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "auto-generated".to_owned())
    }
}

impl Sender {
    /// The sender of the settings; none if no mail server is told.
    ///
    /// # Errors
    /// A setting that cannot be used, named. The password is never told.
    pub fn new(config: &Config) -> Result<Option<Self>, String> {
        let Some(host) = config.smtp_host.as_deref() else {
            return Ok(None);
        };
        let from = config.mail_from.as_deref().unwrap_or_default();
        let from: Mailbox = from.parse().map_err(|error| {
            format!("mail_from: \"{from}\" is no mail address ({error}); give one such as tigstock@shop.example")
        })?;
        let unusable = |error| format!("smtp_host: \"{host}\": {}", chain(&error));
        let mut smtp = match config.smtp_tls {
            SmtpTls::Starttls => Smtp::starttls_relay(host).map_err(unusable)?,
            SmtpTls::Tls => Smtp::relay(host).map_err(unusable)?,
            SmtpTls::None if is_loopback(host) => Smtp::builder_dangerous(host),
            SmtpTls::None => {
                return Err(format!(
                    "smtp_tls: \"none\" would send mail and password in the clear to {host}; it is for a \
                     mail server on this machine. Say starttls or tls"
                ));
            }
        }
        .timeout(Some(TIMEOUT));
        if let Some(port) = config.smtp_port {
            smtp = smtp.port(port);
        }
        if let Some(user) = &config.smtp_user {
            smtp = smtp.credentials(Credentials::new(user.clone(), password(config)?));
        }
        Ok(Some(Self {
            smtp: smtp.build(),
            from,
        }))
    }

    /// Sends once and tells what came of it. A server that refuses for good is asked again too: whoever
    /// mends the mailbox or the password gets what was told meanwhile.
    pub async fn send(&self, address: &str, event: &Event, letter: Letter) -> Outcome {
        let failed = |answer: String| Outcome::Failed {
            answer,
            retry_after: None,
        };
        let message = match self.message(address, event, letter) {
            Ok(message) => message,
            Err(why) => return failed(why),
        };
        match tokio::time::timeout(TRY_TIMEOUT, self.smtp.send(message)).await {
            Ok(Ok(response)) => Outcome::Delivered {
                answer: format!("the mail server took it: {}", response.code()),
            },
            Ok(Err(error)) => failed(format!("the mail server: {}", chain(&error))),
            Err(_) => failed("the mail server took too long".to_owned()),
        }
    }

    fn message(&self, address: &str, event: &Event, letter: Letter) -> Result<Message, String> {
        let to: Address = address.parse().map_err(|error| format!("{error}"))?;
        // The same at every try, so that whoever gets a message twice can know it.
        let id = format!("<{}@{}>", event.id, self.from.email.domain());
        Message::builder()
            .from(self.from.clone())
            .to(Mailbox::new(None, to))
            .subject(letter.subject)
            .message_id(Some(id))
            .date(SystemTime::from(event.at))
            .header(AutoSubmitted)
            .multipart(MultiPart::alternative_plain_html(letter.text, letter.html))
            .map_err(|error| chain(&error))
    }
}

/// Judges the form of a mail address.
///
/// # Errors
/// What is wrong with it, with what to give instead.
pub fn check(address: &str) -> Result<(), String> {
    let told = address.trim();
    let parsed: Result<Address, _> = told.parse();
    match parsed {
        Ok(_) => Ok(()),
        Err(error) => Err(format!(
            "\"{told}\" is no mail address ({error}); give one such as owner@shop.example, without a name"
        )),
    }
}

fn password(config: &Config) -> Result<String, String> {
    if let Some(file) = &config.smtp_password_file {
        let text = std::fs::read_to_string(file)
            .map_err(|error| format!("smtp_password_file: {}: {error}", file.display()))?;
        return Ok(text.trim_end_matches(['\r', '\n']).to_owned());
    }
    std::env::var(PASSWORD_VARIABLE).map_err(|_| {
        format!(
            "smtp_user is told but no password: put it into a file and name that with \
             smtp_password_file, or into the environment as {PASSWORD_VARIABLE}"
        )
    })
}

fn is_loopback(host: &str) -> bool {
    host == "localhost"
        || host
            .parse()
            .is_ok_and(|ip: std::net::IpAddr| ip.is_loopback())
}
