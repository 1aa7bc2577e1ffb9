//! The calendar feed: events as a calendar program reads them (RFC 5545). What the events are is told by
//! the use case.

use actix_web::{HttpRequest, get, web};
use chrono::{DateTime, Days, TimeDelta, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Property};
use types::{CALENDAR_MEDIA_TYPE, CalendarText, GetCalendar};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{answer, printable};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Rules};
use crate::service::calendar::{self as events, When};

/// How often a program should look again.
const REFRESH: TimeDelta = TimeDelta::hours(1);
/// The octets of a line, without its end.
const LINE_MAX: usize = 75;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_calendar);
}

/// Read what is to be done by when, as a calendar to subscribe to. Calendar programs may give a key of the
/// role read in the address. With `If-None-Match` an unchanged calendar is not sent again.
#[utoipa::path(tag = "feeds", security(("key" = ["read"])), params(GetCalendar), responses(
    (status = 200, description = "The calendar", body = CalendarText, content_type = "text/calendar; charset=utf-8", headers(("ETag" = String), ("Cache-Control" = String))),
    (status = 304, description = "It has not changed since it was read"),
    Common,
    Rules,
))]
#[get("/calendar.ics")]
async fn get_calendar(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetCalendar>,
    request: HttpRequest,
) -> Answer {
    let calendar = events::get(&app.context, &query).await?;
    // Stamps differ with each answer, and say nothing new.
    let content = text(&calendar, DateTime::UNIX_EPOCH);
    let stamped = || text(&calendar, calendar.as_of);
    Ok(answer(
        request.headers(),
        &content,
        (CALENDAR_MEDIA_TYPE, stamped),
    ))
}

/// The calendar as text, each event stamped with an instant.
fn text(calendar: &events::Calendar, stamp: DateTime<Utc>) -> String {
    let mut told = Calendar::empty();
    told.append_property(("VERSION", "2.0"))
        .append_property(("PRODID", "-//tigstock//calendar//EN"))
        .append_property(("CALSCALE", "GREGORIAN"))
        .name("tigstock")
        .ttl(&REFRESH);
    for event in &calendar.events {
        told.push(one(event, stamp));
    }
    folded_within_words(&told.to_string())
}

/// Folds the lines of a calendar anew (RFC 5545, 3.1) at places with no blank on either side: some readers
/// cut blanks off the end of a line, and two words would become one.
fn folded_within_words(calendar: &str) -> String {
    let mut folded = String::with_capacity(calendar.len());
    for line in calendar.replace("\r\n ", "").split_terminator("\r\n") {
        let (mut rest, mut room) = (line, LINE_MAX);
        while rest.len() > room {
            let (part, further) = rest.split_at(cut(rest, room));
            folded.push_str(part);
            folded.push_str("\r\n ");
            // The blank that marks a fold counts too.
            (rest, room) = (further, LINE_MAX - 1);
        }
        folded.push_str(rest);
        folded.push_str("\r\n");
    }
    folded
}

/// Where to cut a line that is longer than so many octets.
fn cut(line: &str, room: usize) -> usize {
    let fits = |at: &usize| {
        let Some((before, after)) = line.split_at_checked(*at) else {
            return false;
        };
        !before.ends_with(char::is_whitespace) && !after.starts_with(char::is_whitespace)
    };
    let places = || (1..=room).rev();
    let anywhere = || places().find(|at| line.is_char_boundary(*at));
    places().find(fits).or_else(anywhere).unwrap_or(line.len())
}

fn one(event: &events::Event, stamp: DateTime<Utc>) -> Event {
    let mut told = Event::new();
    told.uid(&event.id.to_string())
        .timestamp(stamp)
        .sequence(u32::try_from(event.edits).unwrap_or(0))
        .summary(&printable(&event.summary))
        .description(&printable(&event.detail))
        .categories([event.kind])
        // It says when something is due, and keeps nobody busy.
        .append_property(Property::new("TRANSP", "TRANSPARENT"));
    match event.when {
        When::At(at) => {
            told.starts(at);
        }
        When::Days(first, last) => {
            // The end of whole days is the day after the last (RFC 5545, 3.6.1).
            let after = last.checked_add_days(Days::new(1)).unwrap_or(last);
            told.starts(first).ends(after);
        }
    }
    told.done()
}
