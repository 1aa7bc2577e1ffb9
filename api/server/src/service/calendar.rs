//! What is to be done by when, as events: the hours by which short work is to be ordered for, deliveries,
//! starts of jobs, courses and their preparation, closures of suppliers, warnings that stand. How a calendar program reads them
//! is not here.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use sea_orm::ConnectionTrait;
use types::GetCalendar;
use uuid::Uuid;

use super::ids::Ids;
use super::known::View;
use super::warnings::view;
use super::{Context, Error, codes, due, instant, parts, suppliers};
use crate::store;
use crate::store::entity::sites;

mod work;

/// How far back events are shown, in days.
const DAYS_BACK: u64 = 30;
/// How far ahead, in days: a year and what is planned into the next.
const DAYS_AHEAD: u64 = 400;
/// More sites than any shop has.
const SITES_MAX: u64 = 500;
/// More suppliers than any shop has.
const SUPPLIERS_MAX: u64 = 500;
/// The kind of warnings about orders for work.
const ORDER_BY: &str = "order-by";
/// The state of a warning that was told and stands.
const TOLD: &str = "told";
/// How stock stands that is on order.
const ON_ORDER: &str = "on order";
/// So long before a course its parts are ordered and its kits laid out (common practice).
const PREPARATION: TimeDelta = TimeDelta::weeks(3);

/// All events around an instant.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// The instant they are told from.
    pub as_of: DateTime<Utc>,
    /// The events, the first first.
    pub events: Vec<Event>,
}

/// Something that is, or is to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// The same for the same thing, whenever it is asked for, and in no other shop.
    pub id: Uuid,
    /// Of what kind it is, in one or two words.
    pub kind: &'static str,
    /// When.
    pub when: When,
    /// It in one line.
    pub summary: String,
    /// What more is to be said of it.
    pub detail: String,
    /// How often what it stands on was edited.
    pub edits: i64,
}

/// When an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// At an instant.
    At(DateTime<Utc>),
    /// On whole days of the site, both included.
    Days(NaiveDate, NaiveDate),
}

/// A site and the time at it.
struct Place {
    site: sites::Model,
    zone: Tz,
    today: NaiveDate,
    view: View,
    ids: Ids,
}

impl Place {
    /// Whether days from one to another, both included, are shown.
    fn shows(&self, first: NaiveDate, last: NaiveDate) -> bool {
        let from = self.today.checked_sub_days(Days::new(DAYS_BACK));
        let to = self.today.checked_add_days(Days::new(DAYS_AHEAD));
        from.is_none_or(|from| last >= from) && to.is_none_or(|to| first <= to)
    }
}

/// The events of a site, or of all.
pub async fn get(context: &Context, query: &GetCalendar) -> Result<Calendar, Error> {
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let db = context.store.read();
    let sites = match query.site.as_deref() {
        Some(code) => vec![codes::named_site(db, "?site", code).await?],
        None => store::sites::list(db, None, SITES_MAX).await?,
    };
    let ids = Ids::load(db).await?;
    let mut events = Vec::new();
    let mut first = None;
    for site in sites {
        let zone = instant::site_zone(&site.zone);
        let place = Place {
            today: at.with_timezone(&zone).date_naive(),
            zone,
            site,
            view: View::present(at),
            ids,
        };
        work::jobs(db, &place, &mut events).await?;
        work::courses(db, &place, &mut events).await?;
        deliveries(db, &place, &mut events).await?;
        warnings(db, &place, &mut events).await?;
        first.get_or_insert(place);
    }
    if let Some(place) = first {
        closures(db, &place, &mut events).await?;
    }
    let begins = |event: &Event| match event.when {
        When::At(at) => at,
        When::Days(first, _) => first.and_time(NaiveTime::MIN).and_utc(),
    };
    events.sort_by_key(|event| (begins(event), event.id));
    Ok(Calendar { as_of: at, events })
}

/// What is on order, on the days on which it is due.
async fn deliveries(
    db: &impl ConnectionTrait,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<(), Error> {
    let expected = due::expected(db, (place.view, place.zone), place.site.id).await?;
    let coming = expected.iter().flat_map(due::Expected::to_come);
    let rows = store::parts::get_many(db, coming.map(|(part, _)| part)).await?;
    for it in expected.iter().filter(|it| place.shows(it.due, it.due)) {
        let mut goods = Vec::new();
        for (id, pieces) in it.to_come() {
            if let Some(part) = rows.iter().find(|part| part.id == id) {
                let unit = parts::spec(part)?.kind().unit();
                goods.push(format!("{} {}", unit.amount(pieces), part.code));
            }
        }
        let (number, supplier) = (it.order.id, &it.supplier.code);
        let late = if it.due < place.today {
            "It is late. Next: ask the supplier, and receive it or cancel it here."
        } else {
            "Next: receive it here when it is there."
        };
        events.push(Event {
            id: place.ids.of(&["delivery", &number.to_string()]),
            kind: "delivery",
            when: When::Days(it.due, it.due),
            summary: format!("Delivery from {supplier}: {}", goods.join(", ")),
            detail: format!("Order {number} to {}. {late}", place.site.name),
            edits: 0,
        });
    }
    Ok(())
}

/// The warnings that are to be told here and stand, from the day on which each was told to this one. Those
/// about orders for work are there as hours already.
async fn warnings(
    db: &impl ConnectionTrait,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<(), Error> {
    let open = store::warnings::open_at(db, place.site.id).await?;
    for warning in view::views(db, &open, (place.view.at, false)).await? {
        let is_here = warning.channels.iter().any(|it| it == "calendar");
        // What is quiet, or on order, waits.
        let waits = warning.state != TOLD || warning.stock.as_deref() == Some(ON_ORDER);
        let told = warning.told_at.filter(|told| *told <= place.view.at);
        let (Some(told), true, false) = (told, is_here && warning.kind != ORDER_BY, waits) else {
            continue;
        };
        let told = told.with_timezone(&place.zone);
        events.push(Event {
            id: warning.id,
            kind: "warning",
            when: When::Days(told.date_naive(), place.today),
            summary: warning.says,
            detail: format!(
                "Told {} and not mended yet.",
                told.format("%a %-d %b %H:%M")
            ),
            edits: i64::from(warning.escalated_at.is_some()),
        });
    }
    Ok(())
}

/// The days on which suppliers are shut.
async fn closures(
    db: &impl ConnectionTrait,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<(), Error> {
    let sellers = store::suppliers::list(db, None, SUPPLIERS_MAX).await?;
    let rows = store::suppliers::closures(db, sellers.iter().map(|row| row.id)).await?;
    for row in rows {
        let Some(seller) = sellers.iter().find(|it| it.id == row.supplier_id) else {
            continue;
        };
        let (first, last) = (suppliers::day(&row.first)?, suppliers::day(&row.last)?);
        if !place.shows(first, last) {
            continue;
        }
        let opens = last.checked_add_days(Days::new(1)).unwrap_or(last);
        events.push(Event {
            id: place.ids.of(&["closure", &seller.code_key, &row.first]),
            kind: "closure",
            when: When::Days(first, last),
            summary: format!("{} is shut", seller.code),
            detail: format!(
                "{}Nothing is sent from {} to {}; orders count from {} on.",
                row.note.map_or(String::new(), |note| format!("{note}. ")),
                first.format("%a %-d %b"),
                last.format("%a %-d %b"),
                opens.format("%a %-d %b"),
            ),
            edits: seller.version - 1,
        });
    }
    Ok(())
}
