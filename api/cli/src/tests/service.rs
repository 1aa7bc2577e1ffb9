//! A service that answers what a test tells it to, and remembers what it was asked. It speaks just
//! enough HTTP/1.1 for the client.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};

use serde_json::Value;

/// A request as it came.
#[derive(Clone, Debug)]
pub(super) struct Request {
    /// The method and the path.
    pub line: String,
    /// The body; null without one.
    pub body: Value,
    headers: Vec<(String, String)>,
}

impl Request {
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(header, _)| header == name)
            .map(|(_, value)| &**value)
    }
}

/// The service; it stops answering after its last answer.
pub(super) struct Service {
    url: String,
    requests: Arc<Mutex<Vec<Request>>>,
}

impl Service {
    pub(super) fn answering<const N: usize>(answers: [(u16, Value); N]) -> Self {
        Self::answering_at("http://127.0.0.1:0", answers)
    }

    /// A status of 0 closes the connection without an answer.
    pub(super) fn answering_at<const N: usize>(url: &str, answers: [(u16, Value); N]) -> Self {
        let address = url.trim_start_matches("http://");
        let listener = TcpListener::bind(address).expect("the port is free");
        let url = format!("http://{}", listener.local_addr().expect("it is bound"));
        let requests = Arc::new(Mutex::new(Vec::new()));
        let seen = Arc::clone(&requests);
        std::thread::spawn(move || {
            for (status, body) in answers {
                let Ok((stream, _)) = listener.accept() else {
                    return;
                };
                seen.lock()
                    .expect("no test panicked with it")
                    .push(read(&stream));
                if status > 0 {
                    answer(&stream, status, &body);
                }
            }
        });
        Self { url, requests }
    }

    pub(super) fn url(&self) -> &str {
        &self.url
    }

    pub(super) fn requests(&self) -> Vec<Request> {
        self.requests
            .lock()
            .expect("no test panicked with it")
            .clone()
    }
}

fn read(stream: &TcpStream) -> Request {
    let mut reader = BufReader::new(stream);
    let mut head = Vec::new();
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).expect("a line");
        if line.trim().is_empty() {
            break;
        }
        head.push(line.trim().to_owned());
    }
    let headers: Vec<(String, String)> = head
        .iter()
        .skip(1)
        .filter_map(|line| line.split_once(": "))
        .map(|(name, value)| (name.to_lowercase(), value.to_owned()))
        .collect();
    let length = headers.iter().find(|(name, _)| name == "content-length");
    let mut body = vec![0; length.map_or(0, |(_, length)| length.parse().expect("a length"))];
    reader.read_exact(&mut body).expect("the whole body");
    let words: Vec<&str> = head[0].split(' ').collect();
    let path = words[1].split('?').next().unwrap_or_default();
    let line = format!("{} {path}", words[0]);
    Request {
        line,
        body: serde_json::from_slice(&body).unwrap_or(Value::Null),
        headers,
    }
}

fn answer(mut stream: &TcpStream, status: u16, body: &Value) {
    let body = body.to_string();
    let length = body.len();
    let head =
        format!("HTTP/1.1 {status} X\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n");
    stream
        .write_all((head + &body).as_bytes())
        .expect("the client listens");
}
