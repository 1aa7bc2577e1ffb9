//! The load: connections that stay open and ask one thing after the other, on a thread of their own.
//! It reads just enough HTTP/1.1 to know where an answer ends, since on a small machine the client
//! takes its time from the server.

use std::net::SocketAddr;
use std::time::{Duration, Instant};

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::runtime;
use tokio::task::JoinSet;

/// What to ask: by connection and number, a whole request.
pub(crate) type Asking = fn(&Asked) -> String;

/// One request to be made.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    /// The round of the measurement.
    pub(crate) round: usize,
    /// The connection.
    pub(crate) connection: usize,
    /// The number of the request on it.
    pub(crate) number: usize,
    /// The secret of the key.
    pub(crate) secret: String,
}

/// Whom to ask what, how much of it, and for how long.
#[derive(Clone, Debug)]
pub(crate) struct Load {
    /// Where the server listens.
    pub(crate) address: SocketAddr,
    /// The secret of the key.
    pub(crate) secret: String,
    /// How many connections.
    pub(crate) connections: usize,
    /// The round, so that each has ids of its own.
    pub(crate) round: usize,
    /// The status that every answer must have.
    pub(crate) expected: u16,
    /// What to ask.
    pub(crate) asking: Asking,
}

/// How long each measurement asks.
const TIME: Duration = Duration::from_secs(3);
/// No connection asks more often than this.
const MOST: usize = 100_000;

/// Asks, and gives how many answers came in a second.
pub(crate) fn run(load: &Load) -> Result<f64, String> {
    let load = load.clone();
    let asking = std::thread::spawn(move || {
        let runtime = runtime::Builder::new_current_thread().enable_all().build();
        let runtime = runtime.map_err(|error| error.to_string())?;
        runtime.block_on(ask_all(load))
    });
    asking
        .join()
        .map_err(|_| "the load broke down".to_owned())?
}

async fn ask_all(load: Load) -> Result<f64, String> {
    let mut streams = Vec::new();
    for _ in 0..load.connections {
        let stream = TcpStream::connect(load.address).await;
        let stream = stream.map_err(|error| error.to_string())?;
        stream
            .set_nodelay(true)
            .map_err(|error| error.to_string())?;
        streams.push(stream);
    }
    let begin = Instant::now();
    let mut asking = JoinSet::new();
    for (connection, stream) in streams.into_iter().enumerate() {
        asking.spawn(ask(load.clone(), connection, stream, begin + TIME));
    }
    let mut answers = 0;
    while let Some(asked) = asking.join_next().await {
        answers += asked.map_err(|error| error.to_string())??;
    }
    Ok(rate(answers, begin.elapsed()))
}

/// So many in that time, in a second.
pub(crate) fn rate(count: u32, time: Duration) -> f64 {
    f64::from(count) / time.as_secs_f64()
}

async fn ask(
    load: Load,
    connection: usize,
    mut stream: TcpStream,
    until: Instant,
) -> Result<u32, String> {
    let mut asked = Asked {
        round: load.round,
        connection,
        number: 0,
        secret: load.secret.clone(),
    };
    let mut buffer = Vec::with_capacity(4_096);
    let mut answers = 0;
    while Instant::now() < until && asked.number < MOST {
        let request = (load.asking)(&asked);
        stream
            .write_all(request.as_bytes())
            .await
            .map_err(|error| error.to_string())?;
        let status = read_answer(&mut stream, &mut buffer).await?;
        if status != load.expected {
            return Err(format!("{status}: {}", String::from_utf8_lossy(&buffer)));
        }
        asked.number += 1;
        answers += 1;
    }
    Ok(answers)
}

/// Reads one answer, which stays in the buffer; gives its status.
async fn read_answer(stream: &mut TcpStream, buffer: &mut Vec<u8>) -> Result<u16, String> {
    buffer.clear();
    let mut end = None;
    loop {
        let read = stream
            .read_buf(buffer)
            .await
            .map_err(|error| error.to_string())?;
        if read == 0 {
            return Err("the server hung up".to_owned());
        }
        if end.is_none() {
            end = whole(buffer);
        }
        if end.is_some_and(|end| buffer.len() >= end) {
            let status = buffer
                .get(9..12)
                .and_then(|digits| std::str::from_utf8(digits).ok());
            let status = status.and_then(|digits| digits.parse().ok());
            return status.ok_or_else(|| "an answer without a status".to_owned());
        }
    }
}

/// How long the answer is with its body, once its head is there.
fn whole(buffer: &[u8]) -> Option<usize> {
    let head = buffer.windows(4).position(|four| four == b"\r\n\r\n")? + 4;
    let text = std::str::from_utf8(&buffer[..head]).ok()?;
    let length = text.lines().find_map(|line| {
        let (name, value) = line.split_once(':')?;
        name.eq_ignore_ascii_case("content-length")
            .then(|| value.trim().parse::<usize>().ok())?
    });
    Some(head + length.unwrap_or(0))
}
