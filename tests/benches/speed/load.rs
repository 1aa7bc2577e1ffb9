//! A load of requests over connections that stay open: HTTP/1.1 as bytes, so that the generator
//! takes as little of the machine as it can from the server.

use std::sync::Arc;
use std::time::Instant;

use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;
use tokio::task::JoinSet;

/// Makes the bytes of a request from the number of its connection and its own.
pub(crate) type Maker = Arc<dyn Fn(usize, usize) -> String + Send + Sync>;

/// Sends `each` requests on each of `connections` at once; gives requests a second.
pub(crate) async fn per_second(url: &str, connections: usize, each: usize, make: Maker) -> f64 {
    let address = url.trim_start_matches("http://").to_owned();
    let begun = Instant::now();
    let mut tasks = JoinSet::new();
    for connection in 0..connections {
        let (address, make) = (address.clone(), Arc::clone(&make));
        tasks.spawn(async move {
            let stream = TcpStream::connect(&address).await.expect("a connection");
            stream.set_nodelay(true).expect("no delay");
            let mut stream = BufReader::new(stream);
            for number in 0..each {
                stream
                    .write_all(make(connection, number).as_bytes())
                    .await
                    .expect("it is sent");
                answer(&mut stream).await;
            }
        });
    }
    tasks.join_all().await;
    let sent = u32::try_from(connections * each).expect("a bounded load");
    f64::from(sent) / begun.elapsed().as_secs_f64()
}

/// Reads one answer and insists that it is a good one.
async fn answer(stream: &mut BufReader<TcpStream>) {
    let mut line = String::new();
    stream.read_line(&mut line).await.expect("a status line");
    assert!(line.starts_with("HTTP/1.1 20"), "{line}");
    let mut length = 0;
    loop {
        line.clear();
        stream.read_line(&mut line).await.expect("a header");
        let header = line.trim();
        if header.is_empty() {
            break;
        }
        if let Some((name, value)) = header.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().expect("a length");
        }
    }
    let mut body = vec![0; length];
    stream.read_exact(&mut body).await.expect("a body");
}
