//! The first page: what is next, at most seven lines in the order of time. Each opens its reason.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};

use super::Place;
use super::frame::{Page, Ways};
use super::refused::Refused;
use super::session::Visitor;
use super::words::{kind, time, told};
use crate::app::App;
use crate::http::auth::Read;
use crate::service::what_next::{self, Leads, Line, WhatNext};

/// What is next.
pub(super) async fn show(
    visitor: Visitor<Read>,
    app: web::Data<App>,
    place: web::Query<Place>,
) -> Result<HttpResponse, Refused> {
    let next = what_next::get(&app.context, place.site.as_deref()).await?;
    let ways = visitor.ways("/", Some(&next.site));
    let main = main(&next, &ways);
    Ok(Page::among(ways, "What next", main).answer(StatusCode::OK))
}

fn main(next: &WhatNext, ways: &Ways<'_>) -> Markup {
    html! {
        p { (next.site) ", " (time(next.as_of, next.zone)) "." }
        @if next.lines.is_empty() {
            p { "Nothing is to be done." }
        }
        ol {
            @for line in &next.lines { li { (one(line, next, ways)) } }
        }
        @if next.more > 0 {
            p { "And " (next.more) " more, later than these." }
        }
        p { a class="way" href=(ways.to("/next-job")) { "Everything for the next job" } }
        p {
            a class="way" href=(ways.to("/warnings")) {
                @match next.standing {
                    0 => "No warning stands",
                    1 => "1 warning stands",
                    more => { (more) " warnings stand" }
                }
            }
        }
        (ways.sites(&next.sites))
    }
}

fn one(line: &Line, next: &WhatNext, ways: &Ways<'_>) -> Markup {
    let step = &line.step;
    html! {
        details {
            summary {
                span class="when" {
                    @if step.at <= next.as_of { "Now" } @else { (time(step.at, next.zone)) }
                }
                " " (kind(&step.kind)) ": " (step.subject)
            }
            (told(&step.says))
            @match &line.leads {
                Leads::Nowhere => {}
                Leads::Warning(id) => {
                    p { a class="way" href={ "/warnings/" (id) } { "What was told, and count" } }
                }
                Leads::Work(code) => {
                    p { a class="way" href=(ways.to(&format!("/next-job?work={code}"))) { "All that " (code) " needs" } }
                }
            }
        }
    }
}
