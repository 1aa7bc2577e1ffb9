//! A receiver of webhooks: an HTTP server over a socket that keeps what comes in and answers as it is told.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use reqwest::header::{HeaderMap, HeaderName, HeaderValue};
use serde_json::Value;

/// A request that came in.
#[derive(Clone, Debug)]
pub struct Got {
    /// Its headers.
    pub headers: HeaderMap,
    /// Its body as it came.
    pub body: Vec<u8>,
}

impl Got {
    /// A header as text.
    pub fn header(&self, name: &str) -> &str {
        let value = self.headers.get(name).expect(name);
        value.to_str().expect("text")
    }

    /// The id of the message.
    pub fn id(&self) -> &str {
        self.header("webhook-id")
    }

    /// The body.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).expect("JSON")
    }
}

/// How a request is answered.
#[derive(Clone, Debug)]
pub enum Reply {
    /// With a status and one header more.
    Status(u16, &'static str, String),
    /// Not at all: the connection is closed.
    Close,
    /// With 204, but only after a while.
    Late(Duration),
}

impl Reply {
    /// A bare status.
    pub fn of(status: u16) -> Self {
        Self::Status(status, "x-nothing", "more".to_owned())
    }
}

type Judge = dyn Fn(&Got) -> Reply + Send + Sync;

/// The receiver. It ends with the process of the tests.
#[derive(Clone, Debug)]
pub struct Receiver {
    /// Its address.
    pub url: String,
    got: Arc<Mutex<Vec<Got>>>,
}

impl Receiver {
    /// One that answers everything with 204.
    pub fn start() -> Self {
        Self::judging(|_| Reply::of(204))
    }

    /// One that answers as `judge` says.
    pub fn judging(judge: impl Fn(&Got) -> Reply + Send + Sync + 'static) -> Self {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)));
        let listener = listener.expect("a port");
        let url = format!("http://{}", listener.local_addr().expect("an address"));
        let got = Arc::<Mutex<Vec<Got>>>::default();
        let (kept, judge): (_, Arc<Judge>) = (Arc::clone(&got), Arc::new(judge));
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let (kept, judge) = (Arc::clone(&kept), Arc::clone(&judge));
                thread::spawn(move || {
                    // A sender that hangs up takes its own request with it, and no other.
                    let _ = serve(&stream, &kept, &judge);
                });
            }
        });
        Self { url, got }
    }

    /// What came in, in order.
    pub fn got(&self) -> Vec<Got> {
        let got = self.got.lock();
        got.unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The ids that came in, in order.
    pub fn ids(&self) -> Vec<String> {
        self.got().iter().map(|got| got.id().to_owned()).collect()
    }
}

fn serve(mut stream: &TcpStream, kept: &Mutex<Vec<Got>>, judge: &Arc<Judge>) -> io::Result<()> {
    let mut reader = BufReader::new(stream);
    let mut headers = HeaderMap::new();
    let mut first = String::new();
    reader.read_line(&mut first)?;
    loop {
        let mut line = String::new();
        reader.read_line(&mut line)?;
        let Some((name, value)) = line.trim_end().split_once(':') else {
            break;
        };
        let name: HeaderName = name.parse().map_err(io::Error::other)?;
        let value = HeaderValue::from_str(value.trim()).map_err(io::Error::other)?;
        headers.append(name, value);
    }
    let length = headers.get("content-length");
    let length = length.and_then(|it| it.to_str().ok()?.parse().ok());
    let mut body = vec![0; length.unwrap_or(0)];
    reader.read_exact(&mut body)?;
    let got = Got { headers, body };
    let reply = judge(&got);
    kept.lock()
        .unwrap_or_else(PoisonError::into_inner)
        .push(got);
    let (status, name, value) = match reply {
        Reply::Close => return Ok(()),
        Reply::Late(pause) => {
            thread::sleep(pause);
            (204, "x-nothing", "more".to_owned())
        }
        Reply::Status(status, name, value) => (status, name, value),
    };
    let length = if status == 204 {
        ""
    } else {
        "content-length: 0\r\n"
    };
    write!(
        stream,
        "HTTP/1.1 {status} Told\r\n{name}: {value}\r\n{length}connection: close\r\n\r\n"
    )
}
