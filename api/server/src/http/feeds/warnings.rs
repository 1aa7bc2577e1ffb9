//! The feed of warnings: what was told, as a feed reader reads it (RFC 4287).

use actix_web::{HttpRequest, get, web};
use atom_syndication::{Category, Entry, Feed, Generator, Link, Person, Text};
use types::{ATOM_MEDIA_TYPE, AtomText, Event, GetWarningFeed};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{answer, printable};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Rules};
use crate::service::events::{self, Told};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_warning_feed);
}

/// Read what was told of warnings, as a feed to subscribe to: the newest 100, newest first. Feed readers may
/// give a key of the role read in the address. With `If-None-Match` an unchanged feed is not sent again.
#[utoipa::path(tag = "feeds", security(("key" = ["read"])), params(GetWarningFeed), responses(
    (status = 200, description = "The feed", body = AtomText, content_type = "application/atom+xml; charset=utf-8", headers(("ETag" = String), ("Cache-Control" = String))),
    (status = 304, description = "It has not changed since it was read"),
    Common,
    Rules,
))]
#[get("/warnings.atom")]
async fn get_warning_feed(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<GetWarningFeed>,
    request: HttpRequest,
) -> Answer {
    let told = events::told_of_warnings(&app.context, &query).await?;
    let text = feed(&told, app.config.public_url.as_deref()).to_string();
    // An empty feed is as new as the answer, which says nothing new.
    let content = if told.events.is_empty() {
        String::new()
    } else {
        text.clone()
    };
    Ok(answer(
        request.headers(),
        &content,
        (ATOM_MEDIA_TYPE, || text),
    ))
}

fn feed(told: &Told, public_url: Option<&str>) -> Feed {
    let base = public_url.unwrap_or_default().trim_end_matches('/');
    Feed {
        title: Text::plain("tigstock: warnings"),
        id: told.feed.urn().to_string(),
        updated: told.updated.fixed_offset(),
        // An entry without an author of its own has that of the feed, which it must then have.
        authors: vec![Person {
            name: "tigstock".to_owned(),
            ..Person::default()
        }],
        generator: Some(Generator {
            value: "tigstock".to_owned(),
            ..Generator::default()
        }),
        links: vec![link("self", format!("{base}/v1/warnings.atom"))],
        lang: Some("en".to_owned()),
        entries: told.events.iter().map(|event| entry(event, base)).collect(),
        ..Feed::default()
    }
}

fn entry(event: &Event, base: &str) -> Entry {
    let subject = printable(&event.subject);
    let what = match event.kind.as_str().rsplit_once('.') {
        Some((_, "told")) => subject,
        Some((_, word)) => format!("{subject}: {word}"),
        None => subject,
    };
    let warning = event
        .warning
        .map(|id| link("alternate", format!("{base}/v1/warnings/{id}")));
    Entry {
        title: Text::plain(what),
        id: event.id.urn().to_string(),
        updated: event.at.fixed_offset(),
        published: Some(event.at.fixed_offset()),
        categories: vec![Category {
            term: event.kind.as_str().to_owned(),
            ..Category::default()
        }],
        // Without a warning there is nothing else to read: the entry stands for itself.
        links: vec![warning.unwrap_or_else(|| link("alternate", format!("{base}/v1/warnings")))],
        summary: Some(Text::plain(printable(&event.says))),
        ..Entry::default()
    }
}

fn link(rel: &str, href: String) -> Link {
    Link {
        href,
        rel: rel.to_owned(),
        ..Link::default()
    }
}
