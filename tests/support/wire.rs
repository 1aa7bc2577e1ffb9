//! A request down to its bytes, over a socket that the test holds: to cut a connection, and to see
//! that two answers are the same.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::Duration;

use types::Role;

use crate::TestServer;

/// An answer as it came: the status and the bytes of the body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bytes {
    /// The HTTP status.
    pub status: u16,
    /// The body.
    pub body: Vec<u8>,
}

impl TestServer {
    /// The bytes of a POST with the owner's key.
    pub fn post_bytes(&self, path: &str, idempotency_key: &str, body: &str) -> Vec<u8> {
        let secret = self.key(Role::Own);
        let length = body.len();
        format!(
            "POST {path} HTTP/1.1\r\nHost: shop\r\nConnection: close\r\n\
             Authorization: Bearer {secret}\r\nIdempotency-Key: {idempotency_key}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        )
        .into_bytes()
    }

    /// Opens a socket to the server.
    pub fn connect(&self) -> TcpStream {
        let address = self.url.strip_prefix("http://").expect("an address");
        let socket = TcpStream::connect(address).expect("a connection");
        socket
            .set_read_timeout(Some(Duration::from_secs(20)))
            .expect("a time limit");
        socket
    }

    /// Sends a request and goes away without reading the answer.
    pub fn send_and_hang_up(&self, request: &[u8]) {
        let mut socket = self.connect();
        socket.write_all(request).expect("the request is sent");
        socket.shutdown(Shutdown::Read).expect("it is closed");
        drop(socket);
    }

    /// Sends a request and reads the answer to its end.
    pub fn send_bytes(&self, request: &[u8]) -> Bytes {
        let mut socket = self.connect();
        socket.write_all(request).expect("the request is sent");
        let mut answer = Vec::new();
        socket.read_to_end(&mut answer).expect("the answer");
        read(&answer)
    }
}

fn read(answer: &[u8]) -> Bytes {
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n");
    let (head, body) = answer.split_at(end.expect("a head") + 4);
    let head = std::str::from_utf8(head).expect("a head of text");
    let status = head.split(' ').nth(1).and_then(|word| word.parse().ok());
    Bytes {
        status: status.expect("a status"),
        body: body.to_vec(),
    }
}
