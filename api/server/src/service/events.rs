//! Events: what the service tells. An event and its deliveries are written in the transaction of their
//! cause, so that neither is ever there without the other. Sending is in `channels`.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, DatabaseTransaction, NotSet};
use types::{Event, EventKind, GetWarningFeed};
use uuid::Uuid;

use super::ids::Ids;
use super::{Context, Error, codes, instant};
use crate::store::{self, entity::deliveries, entity::events};

/// How long events are kept: a reader who comes again later is told to read afresh.
pub const KEPT: TimeDelta = TimeDelta::days(90);
/// The channel of webhooks, as deliveries name it.
pub const WEBHOOK: &str = "webhook";
/// The channel of mail, as deliveries name it.
pub const MAIL: &str = "mail";

/// Which channels an event goes to, beside the page and the stream, which have all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Channels {
    /// Mail addresses that want its kind.
    pub mail: bool,
    /// Webhooks that want its kind.
    pub webhook: bool,
    /// The calendar feed. It is computed when it is read: nothing is sent.
    pub calendar: bool,
}

impl Channels {
    /// The page and the stream alone.
    pub const PAGE: Self = Self {
        mail: false,
        webhook: false,
        calendar: false,
    };

    /// All of them.
    pub const ALL: Self = Self {
        mail: true,
        webhook: true,
        calendar: true,
    };
}

/// Something to tell.
#[derive(Clone, Debug)]
pub struct NewEvent {
    /// What happened.
    pub kind: EventKind,
    /// What deliveries to one receiver are kept in order by: mostly the code of a part or job.
    pub subject: String,
    /// The code of the site it is about; receivers of one site get only what is about it, or about none.
    pub site: Option<String>,
    /// The code of the part that a count at the site would put right: the mail then asks for one.
    pub part: Option<String>,
    /// The warning it belongs to.
    pub warning: Option<Uuid>,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// Where it goes, beside the page and the stream.
    pub channels: Channels,
    /// The message, one line.
    pub says: String,
    /// The rest, as receivers get it.
    pub data: serde_json::Value,
}

/// Records an event and its deliveries to all who get it, in the caller's transaction; its id. Nothing
/// is sent before that transaction is committed.
///
/// # Errors
/// A failure of the store.
pub async fn record(tx: &DatabaseTransaction, event: NewEvent) -> Result<Uuid, Error> {
    let id = Uuid::now_v7();
    let at = event.at.timestamp_micros();
    let receivers = receivers(tx, &event).await?;
    let row = events::ActiveModel {
        sequence: NotSet,
        id: Set(id),
        kind: Set(event.kind.as_str().to_owned()),
        subject: Set(event.subject.clone()),
        site: Set(event.site),
        part: Set(event.part),
        warning_id: Set(event.warning),
        at: Set(at),
        says: Set(event.says),
        data: Set(event.data.to_string()),
    };
    let row = store::events::insert(tx, row).await?;
    let deliveries = receivers
        .into_iter()
        .map(|(channel, target)| deliveries::ActiveModel {
            id: Set(Uuid::now_v7()),
            event_sequence: Set(row.sequence),
            channel: Set(channel.to_owned()),
            target: Set(target),
            subject: Set(event.subject.clone()),
            state: Set(store::deliveries::WAITING.to_owned()),
            attempts: Set(0),
            first_at: Set(None),
            next_at: Set(at),
            claimed_until: Set(None),
            last_answer: Set(None),
            ended_at: Set(None),
        });
    store::deliveries::insert_many(tx, deliveries.collect()).await?;
    Ok(id)
}

/// Who gets an event: by channel and id.
async fn receivers(
    db: &impl ConnectionTrait,
    event: &NewEvent,
) -> Result<Vec<(&'static str, Uuid)>, Error> {
    let mut found = Vec::new();
    if event.channels.webhook {
        let all = store::webhooks::enabled(db).await?;
        let wanting = all
            .iter()
            .filter(|row| is_wanted(event, &row.kinds, row.site.as_deref()));
        found.extend(wanting.map(|row| (WEBHOOK, row.id)));
    }
    if event.channels.mail {
        let all = store::mail_addresses::all(db).await?;
        let wanting = all
            .iter()
            .filter(|row| is_wanted(event, &row.kinds, row.site.as_deref()));
        found.extend(wanting.map(|row| (MAIL, row.id)));
    }
    Ok(found)
}

fn is_wanted(event: &NewEvent, kinds: &str, site: Option<&str>) -> bool {
    let is_its_site = match (site, event.site.as_deref()) {
        (Some(wanted), Some(told)) => wanted.eq_ignore_ascii_case(told),
        (None, _) | (_, None) => true,
    };
    is_its_site
        && kinds
            .split_whitespace()
            .any(|word| word == event.kind.as_str())
}

/// An event as it is told.
///
/// # Errors
/// [`Error::Internal`] if a row does not hold what was written.
pub fn view(row: events::Model) -> Result<Event, Error> {
    let lost = |what: &str| Error::Internal(format!("{what} of event {} cannot be read", row.id));
    let kind = EventKind::parse(&row.kind).ok_or_else(|| lost("the kind"))?;
    let data = serde_json::from_str(&row.data).map_err(|_| lost("the data"))?;
    Ok(Event {
        sequence: row.sequence,
        id: row.id,
        kind,
        subject: row.subject,
        site: row.site,
        warning: row.warning_id,
        at: instant::from_micros(row.at),
        says: row.says,
        data,
    })
}

/// So many events are in a feed.
const FEED_MAX: u64 = 100;
/// What a feed of warnings tells.
const OF_WARNINGS: [EventKind; 4] = [
    EventKind::WarningTold,
    EventKind::WarningEscalated,
    EventKind::WarningClosed,
    EventKind::WarningAcknowledged,
];

/// What was told of warnings, for a feed.
#[derive(Clone, Debug)]
pub struct Told {
    /// Names the feed of the shop, the same each time.
    pub feed: Uuid,
    /// When the newest was told; where nothing was, when it is asked.
    pub updated: DateTime<Utc>,
    /// The events, newest first.
    pub events: Vec<Event>,
}

/// The newest that was told of warnings.
///
/// # Errors
/// There is no such site, or a failure of the store.
pub async fn told_of_warnings(context: &Context, query: &GetWarningFeed) -> Result<Told, Error> {
    let db = context.store.read();
    let site = match query.site.as_deref() {
        Some(code) => Some(codes::named_site(db, "?site", code).await?.code),
        None => None,
    };
    let kinds = OF_WARNINGS.map(EventKind::as_str);
    let rows = store::events::newest(db, (&kinds, site.as_deref()), FEED_MAX).await?;
    let events: Vec<Event> = rows.into_iter().map(view).collect::<Result<_, _>>()?;
    let names = ["warnings", site.as_deref().unwrap_or_default()];
    Ok(Told {
        feed: Ids::load(db).await?.of(&names),
        updated: events
            .first()
            .map_or_else(|| context.clock.now(), |event| event.at),
        events,
    })
}

/// Where a reader begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Start {
    /// The number after which it begins.
    pub after: i64,
    /// The number of the oldest event that is kept, if the reader has missed some before it.
    pub reset: Option<i64>,
}

/// Where a reader begins that has seen the event of that number; with what comes next unless told.
///
/// # Errors
/// A failure of the store.
pub async fn start(context: &Context, seen: Option<i64>) -> Result<Start, Error> {
    let bounds = store::events::bounds(context.store.read()).await?;
    let (oldest, newest) = bounds.unwrap_or((1, 0));
    let at = |after| Start { after, reset: None };
    Ok(match seen {
        None => at(newest),
        Some(0) => at(0),
        // A number from before what is kept, or from another database.
        Some(seen) if seen < oldest - 1 || seen > newest => Start {
            after: oldest - 1,
            reset: Some(oldest),
        },
        Some(seen) => at(seen),
    })
}

/// Up to `limit` events after that number, oldest first.
///
/// # Errors
/// A failure of the store.
pub async fn after(context: &Context, sequence: i64, limit: u64) -> Result<Vec<Event>, Error> {
    let rows = store::events::after(context.store.read(), sequence, limit).await?;
    rows.into_iter().map(view).collect()
}

/// Forgets events that are older than [`KEPT`] and wait for nobody; how many.
///
/// # Errors
/// A failure of the store.
pub async fn forget(context: &Context) -> Result<u64, Error> {
    let before = (context.clock.now() - KEPT).timestamp_micros();
    let write = context
        .writer
        .write(move |tx| Box::pin(async move { Ok(store::events::forget(tx, before).await?) }));
    write.await
}
