//! A door in front of a server: an address that refuses connections until it is opened, hands on
//! what comes in afterwards, remembers it, and can lose an answer on its way back.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use tokio::net::TcpSocket;

/// Connections that wait to be let in.
const BACKLOG: u32 = 64;

/// A request that passed the door, with its answer.
#[derive(Clone, Debug)]
pub struct Exchange {
    /// The method.
    pub method: String,
    /// The path, without the query.
    pub path: String,
    /// The body that was sent.
    pub sent: Vec<u8>,
    /// The HTTP status.
    pub status: u16,
    /// The headers of the answer, their names in small letters.
    pub headers: Vec<(String, String)>,
    /// The body of the answer.
    pub body: Vec<u8>,
}

impl Exchange {
    /// A header of the answer; the name in small letters.
    pub fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(has, _)| has == name);
        found.map(|(_, value)| value.as_str())
    }

    /// Whether it posted something.
    pub fn is_post(&self) -> bool {
        self.method == "POST"
    }
}

/// Decides whether an answer gets back to its caller.
type Judge = dyn Fn(&Exchange) -> bool + Send + Sync;

/// The door.
#[derive(Debug)]
pub struct Door {
    /// Its address, such as `http://127.0.0.1:40123`.
    pub url: String,
    shut: Option<TcpSocket>,
    seen: Arc<Mutex<Vec<Exchange>>>,
}

impl Door {
    /// A door that is shut: its address is taken, and connections to it are refused.
    pub fn shut() -> Self {
        let socket = TcpSocket::new_v4().expect("a socket");
        socket
            .bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)))
            .expect("a free port");
        let url = format!("http://{}", socket.local_addr().expect("it is bound"));
        Self {
            url,
            shut: Some(socket),
            seen: Arc::default(),
        }
    }

    /// Opens it: everything passes to the server at `target`, and every answer passes back.
    pub fn open(&mut self, target: &str) {
        self.open_with(target, |_| true);
    }

    /// Opens it; an answer passes back only if `judge` says so.
    pub fn open_with(
        &mut self,
        target: &str,
        judge: impl Fn(&Exchange) -> bool + Send + Sync + 'static,
    ) {
        let socket = self.shut.take().expect("it is shut");
        let listener = socket.listen(BACKLOG).expect("it can listen");
        let listener = listener.into_std().expect("a listener");
        listener.set_nonblocking(false).expect("it can wait");
        let target = target.trim_start_matches("http://").to_owned();
        let (seen, judge) = (Arc::clone(&self.seen), Arc::new(judge));
        // It ends with the process of the tests.
        thread::spawn(move || keep(&listener, &target, &seen, &(judge as Arc<Judge>)));
    }

    /// What has passed, in order.
    pub fn seen(&self) -> Vec<Exchange> {
        self.seen
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }
}

fn keep(
    listener: &TcpListener,
    target: &str,
    seen: &Arc<Mutex<Vec<Exchange>>>,
    judge: &Arc<Judge>,
) {
    for stream in listener.incoming().map_while(Result::ok) {
        let (target, seen, judge) = (target.to_owned(), Arc::clone(seen), Arc::clone(judge));
        thread::spawn(move || {
            // A side that hangs up takes its own exchange with it, and no other.
            let _ = pass(&stream, &target, &seen, &judge);
        });
    }
}

/// Hands on one request, and its answer if the judge lets it pass.
fn pass(
    caller: &TcpStream,
    target: &str,
    seen: &Mutex<Vec<Exchange>>,
    judge: &Arc<Judge>,
) -> io::Result<()> {
    let mut reader = BufReader::new(caller);
    let (head, headers) = head(&mut reader)?;
    let mut sent = vec![0; length(&headers)];
    reader.read_exact(&mut sent)?;
    let mut server = TcpStream::connect(target)?;
    write!(server, "{head}\r\n")?;
    for (name, value) in headers.iter().filter(|(name, _)| name != "connection") {
        write!(server, "{name}: {value}\r\n")?;
    }
    server.write_all(b"connection: close\r\n\r\n")?;
    server.write_all(&sent)?;
    let mut answer = Vec::new();
    server.read_to_end(&mut answer)?;
    let exchange = exchange(&head, sent, &answer)?;
    let passes = judge(&exchange);
    seen.lock()
        .unwrap_or_else(PoisonError::into_inner)
        .push(exchange);
    let mut caller = caller;
    if passes {
        caller.write_all(&answer)?;
    }
    caller.shutdown(Shutdown::Both)
}

/// The first line of a message, and its headers with their names in small letters.
fn head(reader: &mut impl BufRead) -> io::Result<(String, Vec<(String, String)>)> {
    let mut lines = Vec::new();
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line)? == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        let line = line.trim_end();
        if line.is_empty() {
            break;
        }
        lines.push(line.to_owned());
    }
    let mut lines = lines.into_iter();
    let first = lines.next().ok_or(io::ErrorKind::InvalidData)?;
    let headers = lines.filter_map(|line| {
        let (name, value) = line.split_once(':')?;
        Some((name.to_lowercase(), value.trim().to_owned()))
    });
    Ok((first, headers.collect()))
}

fn length(headers: &[(String, String)]) -> usize {
    let found = headers.iter().find(|(name, _)| name == "content-length");
    found.map_or(0, |(_, length)| length.parse().expect("a length"))
}

fn exchange(request: &str, sent: Vec<u8>, answer: &[u8]) -> io::Result<Exchange> {
    let mut reader = BufReader::new(answer);
    let (status, headers) = head(&mut reader)?;
    let mut body = Vec::new();
    reader.read_to_end(&mut body)?;
    let mut words = request.split(' ');
    let method = words.next().unwrap_or_default().to_owned();
    let path = words.next().unwrap_or_default();
    let path = path.split('?').next().unwrap_or_default().to_owned();
    let status = status.split(' ').nth(1).and_then(|word| word.parse().ok());
    Ok(Exchange {
        method,
        path,
        sent,
        status: status.ok_or(io::ErrorKind::InvalidData)?,
        headers,
        body,
    })
}
