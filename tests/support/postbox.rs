//! A mail server that delivers nowhere: it speaks as much of SMTP (RFC 5321) as a sender needs, keeps what
//! comes in, and refuses when it is told to.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use rustls::{ServerConfig, ServerConnection, StreamOwned};

/// A mail that came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mail {
    /// Who sent it, as the envelope says.
    pub from: String,
    /// Who gets it, as the envelope says.
    pub to: String,
    /// The message with its headers.
    pub message: String,
}

#[derive(Debug, Default)]
struct Kept {
    mails: Vec<Mail>,
    refused: Vec<String>,
    /// What is said instead of taking a mail.
    refusal: Option<&'static str>,
}

/// The mail server. It ends with the process of the tests.
#[derive(Clone, Debug)]
pub struct Postbox {
    /// Its port on loopback.
    pub port: u16,
    kept: Arc<Mutex<Kept>>,
}

impl Postbox {
    /// One that takes everything.
    #[expect(
        clippy::new_without_default,
        reason = "it listens, which no default should"
    )]
    pub fn new() -> Self {
        Self::greeting(converse)
    }

    /// One that speaks TLS from the start (RFC 8314), and nothing in the clear.
    pub fn private(config: Arc<ServerConfig>) -> Self {
        Self::greeting(move |stream, kept| {
            let tls = ServerConnection::new(Arc::clone(&config)).map_err(io::Error::other)?;
            converse(StreamOwned::new(tls, stream), kept)
        })
    }

    fn greeting(
        greet: impl Fn(TcpStream, &Mutex<Kept>) -> io::Result<()> + Send + Sync + 'static,
    ) -> Self {
        let greet = Arc::new(greet);
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)));
        let listener = listener.expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let kept = Arc::<Mutex<Kept>>::default();
        let shared = Arc::clone(&kept);
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let (kept, greet) = (Arc::clone(&shared), Arc::clone(&greet));
                thread::spawn(move || {
                    // A sender that hangs up ends its own conversation, and no other.
                    let _ = greet(stream, &kept);
                });
            }
        });
        Self { port, kept }
    }

    /// Refuses what comes with those words, such as `451 later`, until it is told otherwise.
    pub fn refuse(&self, refusal: Option<&'static str>) {
        self.with(|kept| kept.refusal = refusal);
    }

    /// What came in, in order.
    pub fn mails(&self) -> Vec<Mail> {
        self.with(|kept| kept.mails.clone())
    }

    /// To whom a mail was refused, in order.
    pub fn refused(&self) -> Vec<String> {
        self.with(|kept| kept.refused.clone())
    }

    fn with<T>(&self, look: impl FnOnce(&mut Kept) -> T) -> T {
        look(&mut self.kept.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// A line without its end; nothing where there is none any more.
fn line(lines: &mut impl BufRead) -> io::Result<Option<String>> {
    let mut line = String::new();
    let read = lines.read_line(&mut line)?;
    Ok((read > 0).then(|| line.trim_end_matches(['\r', '\n']).to_owned()))
}

fn converse<S: Read + Write>(stream: S, kept: &Mutex<Kept>) -> io::Result<()> {
    let mut lines = BufReader::new(stream);
    let say = |lines: &mut BufReader<S>, words: &str| {
        write!(lines.get_mut(), "{words}\r\n")?;
        lines.get_mut().flush()
    };
    say(&mut lines, "220 postbox")?;
    let (mut from, mut to) = (String::new(), String::new());
    while let Some(told) = line(&mut lines)? {
        let word = told.get(..4).unwrap_or_default().to_uppercase();
        match word.as_str() {
            "MAIL" => from = address(&told),
            "RCPT" => {
                to = address(&told);
                let refusal = {
                    let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                    if kept.refusal.is_some() {
                        kept.refused.push(to.clone());
                    }
                    kept.refusal
                };
                if let Some(refusal) = refusal {
                    say(&mut lines, refusal)?;
                    continue;
                }
            }
            "DATA" => {
                say(&mut lines, "354 go on")?;
                let mut message = String::new();
                while let Some(told) = line(&mut lines)?.filter(|told| told != ".") {
                    message.push_str(told.strip_prefix('.').unwrap_or(&told));
                    message.push_str("\r\n");
                }
                let (from, to) = (from.clone(), to.clone());
                let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                kept.mails.push(Mail { from, to, message });
            }
            "QUIT" => return say(&mut lines, "221 bye"),
            _ => {}
        }
        say(&mut lines, "250 good")?;
    }
    Ok(())
}

/// What stands in angle brackets.
fn address(line: &str) -> String {
    let start = line.find('<').map_or(0, |at| at + 1);
    let end = line.rfind('>').unwrap_or(line.len());
    line[start..end].to_owned()
}
