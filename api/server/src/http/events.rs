//! Events as they happen: server-sent events (WHATWG HTML, "Server-sent events").

use std::time::Duration;

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, get, web};
use futures_util::stream;
use tokio::sync::watch;
use tokio::time::Instant;
use types::{Event, FollowEvents};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service::{self, Context, Error};

/// How often is looked for more; other processes record too.
const TICK: Duration = Duration::from_secs(1);
/// How long a stream may be silent before it says that it lives; proxies close what is silent.
const HEARTBEAT: Duration = Duration::from_secs(15);
/// How long a reader is asked to wait before it comes again, in milliseconds.
const RETRY_MILLISECONDS: u32 = 3_000;
/// How many events are told in one piece.
const AT_ONCE: u64 = 100;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(follow_events);
}

/// Follow what the service tells: server-sent events, each with its number as `id`, its kind as `event`
/// and itself as `data`. Whoever comes again names the last number in `Last-Event-ID` or `after` and
/// misses nothing. If that is older than what is kept, an event `reset` says so, and what is kept follows:
/// read afresh what you show. A comment each 15 seconds keeps the connection open.
#[utoipa::path(tag = "events", security(("key" = ["read"])), params(FollowEvents), responses(
    (status = 200, description = "Events, until either side ends it", body = Event, content_type = "text/event-stream"),
    Common,
    Rules,
))]
#[get("/events")]
async fn follow_events(
    _: Authorized<Read>,
    app: web::Data<App>,
    stopping: web::Data<watch::Receiver<bool>>,
    request: HttpRequest,
    query: web::Query<FollowEvents>,
) -> Answer {
    let last = request.headers().get("Last-Event-ID");
    let last = last.map(|told| String::from_utf8_lossy(told.as_bytes()).into_owned());
    let start = query.start(last.as_deref()).map_err(Error::from)?;
    let start = service::events::start(&app.context, start).await?;
    let mut first = format!("retry: {RETRY_MILLISECONDS}\n\n");
    if let Some(oldest) = start.reset {
        first.push_str(&reset(oldest));
    }
    let follower = Follower {
        context: app.context.clone(),
        stopping: stopping.get_ref().clone(),
        after: start.after,
        first: Some(first),
        once: query.once.unwrap_or(false),
    };
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "text/event-stream"))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        // Compression would hold events back until a block is full; so would a buffering proxy.
        .insert_header((header::CONTENT_ENCODING, "identity"))
        .insert_header(("X-Accel-Buffering", "no"))
        .streaming(stream::unfold(follower, Follower::next)))
}

/// One reader of the stream.
struct Follower {
    context: Context,
    stopping: watch::Receiver<bool>,
    after: i64,
    first: Option<String>,
    once: bool,
}

type Piece = Result<web::Bytes, std::io::Error>;

impl Follower {
    /// The next piece of the stream; none when it is over.
    async fn next(mut self) -> Option<(Piece, Self)> {
        if let Some(first) = self.first.take() {
            return Some((Ok(first.into()), self));
        }
        let silent_since = Instant::now();
        loop {
            let found = service::events::after(&self.context, self.after, AT_ONCE).await;
            let events = match found {
                Ok(events) => events,
                Err(error) => {
                    // The reader comes again, and goes on where it was.
                    let error = &error as &dyn std::error::Error;
                    tracing::warn!(error, "a stream of events broke off");
                    return None;
                }
            };
            if let Some(last) = events.last() {
                self.after = last.sequence;
                let text: String = events.iter().map(told).collect();
                return Some((Ok(text.into()), self));
            }
            if self.once {
                return None;
            }
            if silent_since.elapsed() >= HEARTBEAT {
                return Some((Ok(": nothing new\n\n".into()), self));
            }
            tokio::select! {
                // The sender is used or gone: either way the service stops.
                _ = self.stopping.wait_for(|stopping| *stopping) => return None,
                () = tokio::time::sleep(TICK) => {}
            }
        }
    }
}

/// An event on the wire. JSON has no line breaks outside of strings, and inside they are escaped.
fn told(event: &Event) -> String {
    let data = serde_json::to_string(event).unwrap_or_default();
    format!(
        "id: {}\nevent: {}\ndata: {data}\n\n",
        event.sequence,
        event.kind.as_str()
    )
}

fn reset(oldest: i64) -> String {
    format!(
        "id: {}\nevent: reset\ndata: {{\"oldest\":{oldest}}}\n\n",
        oldest - 1
    )
}
