//! The page to which a mail about a warning leads: a form for one count of one part, without a key and
//! without script. What the link permits is for `service::count_links` to say.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde::Deserialize;
use types::Part;
use uuid::Uuid;

use super::frame::Page;
use crate::app::App;
use crate::http::error::problem;
use crate::service::Error;
use crate::service::count_links::{self, Link};

/// What is filled in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Filled {
    /// Names the form: sent again, it counts once.
    form: Uuid,
    /// How many there are.
    counted: String,
}

/// The form, empty.
pub(super) async fn show(app: web::Data<App>, token: web::Path<String>) -> HttpResponse {
    match asked(&app, &token).await {
        Ok((link, part)) => {
            let form = form(&link, &part, Uuid::now_v7(), None);
            page(StatusCode::OK, "How many are there?", form)
        }
        Err(error) => refused(&error),
    }
}

/// Records what was filled in.
pub(super) async fn record(
    app: web::Data<App>,
    token: web::Path<String>,
    filled: web::Form<Filled>,
) -> HttpResponse {
    let (link, part) = match asked(&app, &token).await {
        Ok(asked) => asked,
        Err(error) => return refused(&error),
    };
    let again = |why: &str| {
        let form = form(&link, &part, filled.form, Some(why));
        page(
            StatusCode::UNPROCESSABLE_ENTITY,
            "How many are there?",
            form,
        )
    };
    let Ok(counted) = filled.counted.trim().parse::<i64>() else {
        return again(&format!(
            "\"{}\" is no whole number; give how many there are, 0 for none",
            filled.counted
        ));
    };
    let done = count_links::count(&app.context, (&token, &link), filled.form, counted).await;
    match done {
        Ok(_) => page(StatusCode::OK, "Counted", thanks(&link, counted)),
        Err(error @ (Error::Invalid(_) | Error::KeyReused(_))) => again(&error.to_string()),
        Err(error) => refused(&error),
    }
}

async fn asked(app: &App, token: &str) -> Result<(Link, Part), Error> {
    let link = count_links::read(&app.context, token).await?;
    let part = count_links::part(&app.context, &link).await?;
    Ok((link, part))
}

fn form(link: &Link, part: &Part, form: Uuid, fault: Option<&str>) -> Markup {
    html! {
        p { "Part " strong { (part.code) } " at site " strong { (link.site) } ". Count what is in the drawers, \
             not what is fitted in torches." }
        @if let Some(fault) = fault {
            p role="alert" id="fault" { "Not recorded: " (fault) }
        }
        form method="post" {
            input type="hidden" name="form" value=(form);
            label for="counted" { "Counted" }
            input id="counted" name="counted" inputmode="numeric" pattern="[0-9]*" required
                autocomplete="off" aria-describedby=[fault.map(|_| "fault")];
            " "
            button type="submit" { "Record the count" }
        }
        p { small { "The count beats what the book says. This link does nothing else; it works until "
            (link.until.format("%Y-%m-%d %H:%M")) " UTC." } }
    }
}

fn thanks(link: &Link, counted: i64) -> Markup {
    html! {
        p { (counted) " of " strong { (link.part) } " at site " strong { (link.site) } ". It is recorded; if the \
             warning was wrong, it goes away by itself." }
    }
}

fn refused(error: &Error) -> HttpResponse {
    let problem = problem(error);
    let status = StatusCode::from_u16(problem.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let what = if matches!(error, Error::NotFound { .. }) {
        "This link was not made here, or is not whole: copy all of it from the mail."
    } else {
        &problem.detail
    };
    let told = html! {
        p { (what) }
    };
    page(status, "Nothing was recorded", told)
}

fn page(status: StatusCode, title: &str, told: Markup) -> HttpResponse {
    let page = Page {
        // The address is the permission: it must not be told to where the reader goes next.
        referrer: "no-referrer",
        ..Page::bare(title, told)
    };
    page.answer(status)
}
