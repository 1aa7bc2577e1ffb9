//! The warnings, by where they stand: open, told, quiet until, closed.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use types::{ListWarnings, Warning};

use super::Place;
use super::frame::Page;
use super::refused::Refused;
use super::session::Visitor;
use super::words::{kind, told};
use crate::app::App;
use crate::http::auth::Read;
use crate::service::warnings;

/// So many of those that are closed are shown.
const CLOSED: u64 = 20;
/// More than this stand nowhere.
const STANDING: u64 = 500;

/// Where warnings stand, in the order in which they are shown.
const STATES: [(&str, &str); 4] = [
    ("open", "Open, not told yet"),
    ("told", "Told"),
    ("quiet-until", "Quiet until"),
    ("closed", "Closed"),
];

/// All warnings of a site, or of all sites.
pub(super) async fn show(
    visitor: Visitor<Read>,
    app: web::Data<App>,
    place: web::Query<Place>,
) -> Result<HttpResponse, Refused> {
    let asked = |state: &str, limit| ListWarnings {
        site: place.site.clone(),
        state: Some(state.to_owned()),
        limit: Some(limit),
        ..ListWarnings::default()
    };
    let mut all = warnings::list(&app.context, &asked("open", STANDING))
        .await?
        .warnings;
    all.extend(
        warnings::list(&app.context, &asked("closed", CLOSED))
            .await?
            .warnings,
    );
    let main = html! {
        @if all.is_empty() { p { "There is no warning." } }
        @for (state, title) in STATES {
            @let these: Vec<&Warning> = all.iter().filter(|it| it.state == state).collect();
            @if !these.is_empty() {
                h2 { (title) " (" (these.len()) ")" }
                ul { @for warning in these { li class="card" { (one(warning)) } } }
            }
        }
    };
    let ways = visitor.ways("/warnings", place.site.as_deref());
    Ok(Page::among(ways, "Warnings", main).answer(StatusCode::OK))
}

fn one(warning: &Warning) -> Markup {
    html! {
        h3 { (kind(&warning.kind)) ": " (warning.subject) ", " (warning.site) }
        (told(&warning.says))
        p {
            a class="way" href={ "/warnings/" (warning.id) } {
                @if warning.state == "closed" { "What was told" }
                @else if warning.part.is_some() { "Wrong? Count it" }
                @else { "What was told" }
                span class="out" { " of " (warning.subject) }
            }
        }
    }
}
