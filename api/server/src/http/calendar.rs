//! The calendar feed: events as a calendar program reads them (RFC 5545). What the events are is told by
//! the use case.

use actix_web::http::header::{self, HeaderMap};
use actix_web::{HttpRequest, HttpResponse, get, web};
use chrono::{DateTime, Days, TimeDelta, Utc};
use data_encoding::HEXLOWER;
use icalendar::{Calendar, Component, Event, EventLike, Property};
use sha2::{Digest, Sha256};
use types::{CALENDAR_MEDIA_TYPE, CalendarText, GetCalendar};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Read};
use super::error::Answer;
use super::problems::{Common, Rules};
use crate::app::App;
use crate::service::calendar::{self as events, When};

/// How often a program should look again.
const REFRESH: TimeDelta = TimeDelta::hours(1);

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
    let tag = tag(&calendar);
    let mut answer = if is_known(request.headers(), &tag) {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    answer
        .insert_header((header::ETAG, tag.clone()))
        // For this caller only, and to be asked for again each time.
        .insert_header((header::CACHE_CONTROL, "private, no-cache"));
    if is_known(request.headers(), &tag) {
        return Ok(answer.finish());
    }
    Ok(answer
        .content_type(CALENDAR_MEDIA_TYPE)
        .body(text(&calendar, calendar.as_of)))
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
    told.to_string()
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

/// Text without the control characters that no calendar may hold (RFC 5545, 3.3.11).
fn printable(text: &str) -> String {
    let is_control = |letter: char| letter.is_control() && letter != '\n' && letter != '\t';
    text.replace(is_control, " ")
}

/// What tells one calendar from another: all of it but the stamps, so that it is weak.
fn tag(calendar: &events::Calendar) -> String {
    let digest = Sha256::digest(text(calendar, DateTime::UNIX_EPOCH));
    format!("W/\"{}\"", HEXLOWER.encode(&digest[..16]))
}

/// Whether the caller has that version, by the weak comparison of RFC 9110, 13.1.2.
fn is_known(headers: &HeaderMap, tag: &str) -> bool {
    let strong = |tag: &str| tag.trim().trim_start_matches("W/").to_owned();
    let asked = headers.get_all(header::IF_NONE_MATCH);
    asked
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .any(|known| known.trim() == "*" || strong(known) == strong(tag))
}
