//! Following what the service tells: a reader of server-sent events (WHATWG HTML, "Server-sent events"),
//! as far as this service uses them.

use std::time::Duration;

use reqwest::{Method, Response};
use types::{Event, FollowEvents};

use crate::{Client, Error};

/// A stream has no end of its own; a year is as good as none.
const TIMEOUT: Duration = Duration::from_hours(365 * 24);

/// What a stream tells.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// An event.
    Event(Box<Event>),
    /// Some events are not kept any more: what is shown must be read afresh. What is kept follows.
    Reset,
}

/// A stream of events.
#[derive(Debug)]
pub struct Events {
    response: Response,
    read: Vec<u8>,
    last: Option<i64>,
}

impl Client {
    /// Follows events from where the query says. To go on after an interruption, ask again with
    /// [`Events::last`] as `after`.
    pub async fn follow_events(&self, query: &FollowEvents) -> Result<Events, Error> {
        let request = self.request(Method::GET, &["v1", "events"])?.query(query);
        Ok(Events {
            response: crate::request::opened(request.timeout(TIMEOUT)).await?,
            read: Vec::new(),
            last: query.after,
        })
    }
}

impl Events {
    /// The number of the last event that was read, or where the stream was asked to begin.
    pub fn last(&self) -> Option<i64> {
        self.last
    }

    /// The next thing that is told; none when the stream has ended.
    ///
    /// # Errors
    /// The connection broke, or what came is no event.
    pub async fn next(&mut self) -> Result<Option<Told>, Error> {
        loop {
            while let Some(block) = self.block() {
                let Some(told) = told(&block)? else { continue };
                if let Told::Event(event) = &told {
                    self.last = Some(event.sequence);
                }
                return Ok(Some(told));
            }
            match self.response.chunk().await? {
                Some(chunk) => self.read.extend_from_slice(&chunk),
                None => return Ok(None),
            }
        }
    }

    /// The lines up to the next empty one, if they are all there.
    fn block(&mut self) -> Option<String> {
        let end = self.read.windows(2).position(|pair| pair == b"\n\n")?;
        let rest = self.read.split_off(end + 2);
        let block = std::mem::replace(&mut self.read, rest);
        Some(String::from_utf8_lossy(&block).into_owned())
    }
}

/// What a block tells; a comment and the time to wait tell nothing.
fn told(block: &str) -> Result<Option<Told>, Error> {
    let field = |name: &str| {
        block
            .lines()
            .find_map(|line| line.strip_prefix(name)?.strip_prefix(": "))
    };
    if field("event") == Some("reset") {
        return Ok(Some(Told::Reset));
    }
    let Some(data) = field("data") else {
        return Ok(None);
    };
    let event = serde_json::from_str(data).map_err(|_| Error::Unexpected {
        status: 200,
        body: data.chars().take(200).collect(),
    })?;
    Ok(Some(Told::Event(Box::new(event))))
}
