//! A mail server that delivers nowhere: it speaks as much of SMTP (RFC 5321) as a sender needs, keeps what
//! comes in, and refuses when it is told to.

use std::io::{self, BufRead, BufReader, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

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
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)));
        let listener = listener.expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let kept = Arc::<Mutex<Kept>>::default();
        let shared = Arc::clone(&kept);
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let kept = Arc::clone(&shared);
                thread::spawn(move || {
                    // A sender that hangs up ends its own conversation, and no other.
                    let _ = converse(&stream, &kept);
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

fn converse(mut stream: &TcpStream, kept: &Mutex<Kept>) -> io::Result<()> {
    let mut lines = BufReader::new(stream).lines();
    stream.write_all(b"220 postbox\r\n")?;
    let (mut from, mut to) = (String::new(), String::new());
    while let Some(line) = lines.next().transpose()? {
        let word = line.get(..4).unwrap_or_default().to_uppercase();
        match word.as_str() {
            "MAIL" => from = address(&line),
            "RCPT" => {
                to = address(&line);
                let refusal = {
                    let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                    if kept.refusal.is_some() {
                        kept.refused.push(to.clone());
                    }
                    kept.refusal
                };
                if let Some(refusal) = refusal {
                    write!(stream, "{refusal}\r\n")?;
                    continue;
                }
            }
            "DATA" => {
                stream.write_all(b"354 go on\r\n")?;
                let mut message = String::new();
                for line in lines.by_ref() {
                    let line = line?;
                    if line == "." {
                        break;
                    }
                    message.push_str(line.strip_prefix('.').unwrap_or(&line));
                    message.push_str("\r\n");
                }
                let (from, to) = (from.clone(), to.clone());
                let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                kept.mails.push(Mail { from, to, message });
            }
            "QUIT" => return stream.write_all(b"221 bye\r\n"),
            _ => {}
        }
        stream.write_all(b"250 good\r\n")?;
    }
    Ok(())
}

/// What stands in angle brackets.
fn address(line: &str) -> String {
    let start = line.find('<').map_or(0, |at| at + 1);
    let end = line.rfind('>').unwrap_or(line.len());
    line[start..end].to_owned()
}
