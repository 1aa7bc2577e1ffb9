//! One warning: what was told in it, and what people answer to it. The answer to a wrong one is a count.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde::Deserialize;
use types::{NewAcknowledgement, NewQuiet, NewWarningCount, Role, Warning};
use uuid::Uuid;

use super::frame::Page;
use super::refused::Refused;
use super::session::Visitor;
use super::words::{kind, time, told};
use crate::app::App;
use crate::http::auth::{Keep, Log, Needs, Read};
use crate::service::{Error, warnings};

/// What is filled in to count.
#[derive(Debug, Deserialize)]
pub(super) struct Counted {
    /// Names the form: sent again, it counts once.
    form: Uuid,
    counted: String,
}

/// What is filled in to hear nothing for a while.
#[derive(Debug, Deserialize)]
pub(super) struct Quieted {
    until: String,
    #[serde(default)]
    on_hand: String,
}

/// One warning.
pub(super) async fn show(
    visitor: Visitor<Read>,
    app: web::Data<App>,
    id: web::Path<String>,
) -> Result<HttpResponse, Refused> {
    page(&visitor, here(&app, &id), StatusCode::OK, None).await
}

/// Records a count of its part.
pub(super) async fn count(
    visitor: Visitor<Log>,
    app: web::Data<App>,
    id: web::Path<String>,
    filled: web::Form<Counted>,
) -> Result<HttpResponse, Refused> {
    let (here, again) = (here(&app, &id), StatusCode::UNPROCESSABLE_ENTITY);
    let Ok(counted) = filled.counted.trim().parse::<i64>() else {
        let why = format!(
            "Not recorded: \"{}\" is no whole number; give how many there are, 0 for none.",
            filled.counted
        );
        return page(&visitor, here, again, Some(&why)).await;
    };
    let new = NewWarningCount {
        counted,
        ..NewWarningCount::default()
    };
    let key = format!("page-{}", filled.form);
    let done = warnings::count(&app.context, (visitor.caller, &key), &id, new).await;
    match done {
        Ok(told) => {
            let left = match told.warning.state.as_str() {
                "closed" => "the warning is closed",
                _ => "the warning stands",
            };
            let done = format!("Counted {counted}. It is recorded; {left}.");
            page(&visitor, here, StatusCode::OK, Some(&done)).await
        }
        Err(error @ (Error::Invalid(_) | Error::KeyReused(_))) => {
            let why = format!("Not recorded: {error}.");
            page(&visitor, here, again, Some(&why)).await
        }
        Err(error) => Err(error.into()),
    }
}

/// Silences it for a while.
pub(super) async fn quiet(
    visitor: Visitor<Keep>,
    app: web::Data<App>,
    id: web::Path<String>,
    filled: web::Form<Quieted>,
) -> Result<HttpResponse, Refused> {
    let again = StatusCode::UNPROCESSABLE_ENTITY;
    let told = filled.on_hand.trim();
    let on_hand = (!told.is_empty()).then(|| told.parse::<i64>()).transpose();
    let Ok(on_hand) = on_hand else {
        let why = format!("Not silenced: \"{told}\" is no whole number.");
        return page(&visitor, here(&app, &id), again, Some(&why)).await;
    };
    let new = NewQuiet {
        until: filled.until.clone(),
        on_hand,
    };
    match warnings::quiet(&app.context, &id, new).await {
        Ok(warning) => Ok(back(&warning)),
        Err(error @ (Error::Invalid(_) | Error::WrongState(_))) => {
            let why = format!("Not silenced: {error}.");
            page(&visitor, here(&app, &id), again, Some(&why)).await
        }
        Err(error) => Err(error.into()),
    }
}

/// Says that it was seen.
pub(super) async fn seen(
    _: Visitor<Keep>,
    app: web::Data<App>,
    id: web::Path<String>,
) -> Result<HttpResponse, Refused> {
    let new = NewAcknowledgement::default();
    let warning = warnings::acknowledge(&app.context, &id, new).await?;
    Ok(back(&warning))
}

/// To the warning, so that loading the page again does nothing again.
fn back(warning: &Warning) -> HttpResponse {
    HttpResponse::SeeOther()
        .insert_header((header::LOCATION, format!("/warnings/{}", warning.id)))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .finish()
}

/// What a page is about.
fn here<'h>(app: &'h App, id: &'h str) -> (&'h App, &'h str) {
    (app, id)
}

async fn page<R>(
    visitor: &Visitor<R>,
    (app, id): (&App, &str),
    status: StatusCode,
    note: Option<&str>,
) -> Result<HttpResponse, Refused> {
    let warning = warnings::get(&app.context, id).await?;
    let zone = warnings::zone(&app.context, &warning).await?;
    let role = visitor.caller.role;
    let main = html! {
        @if let Some(note) = note { p id="note" role="status" { (note) } }
        p class="state" { (kind(&warning.kind)) ", " (warning.site) ": " (state(&warning, zone)) }
        (told(&warning.says))
        @if warning.closed_at.is_none() { (answers(&warning, role)) }
        h2 { "What was told" }
        @if warning.messages.is_empty() { p { "Nothing yet." } }
        ol {
            @for message in &warning.messages {
                li { strong { (time(message.at, zone)) ", " (message.kind) ": " } (message.says) }
            }
        }
    };
    let ways = visitor.ways("", None);
    Ok(Page::among(ways, &warning.subject, main).answer(status))
}

fn state(warning: &Warning, zone: chrono_tz::Tz) -> String {
    match (warning.state.as_str(), warning.quiet_until) {
        ("quiet-until", Some(until)) => {
            let or = warning.quiet_on_hand.map_or_else(String::new, |pieces| {
                format!(", or until {pieces} or fewer are on hand")
            });
            format!("quiet until {}{or}", time(until, zone))
        }
        ("open", _) => "open, not told yet".to_owned(),
        (state, _) => state.to_owned(),
    }
}

/// The forms that the role of the reader may send.
fn answers(warning: &Warning, role: Role) -> Markup {
    let is_safety = domain::warning::WarningKind::parse(&warning.kind)
        .is_ok_and(domain::warning::WarningKind::is_safety);
    let action = |what: &str| format!("/warnings/{}/{what}", warning.id);
    html! {
        @if let (Some(part), true) = (&warning.part, role >= Log::ROLE) {
            h2 { "Wrong? Count it" }
            form method="post" action=(action("count")) {
                input type="hidden" name="form" value=(Uuid::now_v7());
                label for="counted" { "Counted of " (part) ", in drawers, not in torches" }
                input id="counted" name="counted" inputmode="numeric" pattern="[0-9]*" required autocomplete="off";
                " "
                button type="submit" { "Record the count" }
            }
        }
        @if warning.acknowledged_at.is_none() && role >= Keep::ROLE {
            form method="post" action=(action("seen")) {
                p { button type="submit" { "I have seen it" } }
            }
        }
        @if !is_safety && role >= Keep::ROLE {
            h2 { "Hear nothing for a while" }
            form method="post" action=(action("quiet")) {
                label for="until" { "Until" }
                select id="until" name="until" {
                    option value="tomorrow" { "tomorrow" }
                    option value="monday" { "Monday" }
                }
                label for="on_hand" { "or until so many are on hand, or fewer (may stay empty)" }
                input id="on_hand" name="on_hand" inputmode="numeric" pattern="[0-9]*" autocomplete="off";
                " "
                button type="submit" { "Be quiet until then" }
            }
        }
        @if role < Log::ROLE {
            p { "Your key only reads. Ask the owner for one with the role log to count from here." }
        }
    }
}
