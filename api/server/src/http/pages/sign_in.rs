//! Signing in with a key, and out.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::Page;
use super::origin::Ours;
use super::refused::Refused;
use super::session;
use crate::app::App;
use crate::service::{Error, keys};

/// Where to go on.
#[derive(Debug, Deserialize)]
pub(super) struct GoOn {
    to: Option<String>,
}

/// What is filled in.
#[derive(Deserialize)]
pub(super) struct Entered {
    key: String,
    #[serde(default)]
    to: String,
}

/// The form.
pub(super) async fn show(app: web::Data<App>, on: web::Query<GoOn>) -> HttpResponse {
    let to = inside(on.to.as_deref().unwrap_or("/"));
    if app.config.keyless {
        return go(to);
    }
    Page::bare("Sign in", form(to, None)).answer(StatusCode::OK)
}

/// Begins a session.
pub(super) async fn enter(
    ours: Ours,
    app: web::Data<App>,
    entered: web::Form<Entered>,
) -> Result<HttpResponse, Refused> {
    let (to, secret) = (inside(&entered.to), entered.key.trim());
    match keys::authenticate(&app.context, secret).await {
        Ok(_) => {
            let mut answer = go(to);
            let cookie = session::begin(secret, ours.is_private);
            answer.add_cookie(&cookie).map_err(fault)?;
            Ok(answer)
        }
        Err(error @ Error::Unauthenticated(_)) => {
            let again = form(to, Some(&error.to_string()));
            Ok(Page::bare("Sign in", again).answer(StatusCode::UNAUTHORIZED))
        }
        Err(error) => Err(error.into()),
    }
}

/// Ends the session of this browser.
pub(super) async fn leave(ours: Ours) -> Result<HttpResponse, Refused> {
    let mut answer = go("/sign-in");
    let cookie = session::end(ours.is_private);
    answer.add_cookie(&cookie).map_err(fault)?;
    Ok(answer)
}

fn fault(error: impl std::fmt::Display) -> Error {
    Error::Internal(format!("a cookie cannot be set: {error}"))
}

fn go(to: &str) -> HttpResponse {
    HttpResponse::SeeOther()
        .insert_header((header::LOCATION, to))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .finish()
}

/// An address of this service, and of no other: anything else is the first page.
fn inside(to: &str) -> &str {
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '/' | '-' | '.' | '_');
    let is_inside = to.starts_with('/') && !to.starts_with("//") && to.chars().all(fits);
    if is_inside { to } else { "/" }
}

fn form(to: &str, fault: Option<&str>) -> Markup {
    html! {
        @if let Some(fault) = fault {
            p role="alert" id="fault" { "Not signed in: " (fault) "." }
        }
        form method="post" action="/sign-in" {
            input type="hidden" name="to" value=(to);
            label for="key" { "Key" }
            input id="key" name="key" type="password" autocomplete="current-password" required
                aria-describedby=[fault.map(|_| "fault")];
            " "
            button type="submit" { "Sign in" }
        }
        p { "The owner makes keys. This browser keeps yours for 30 days, or until you sign out; it opens pages \
             and nothing else." }
        p { a class="way" href=(to) { "Signed in already: go on" } }
    }
}

#[cfg(test)]
mod tests {
    use super::inside;

    #[test]
    fn one_goes_on_inside_this_service_only() {
        for to in [
            "/",
            "/warnings",
            "/warnings/01977b6a-0000-7000-8000-000000000001",
        ] {
            assert_eq!(inside(to), to);
        }
        for to in [
            "",
            "warnings",
            "//elsewhere.example",
            "/\\elsewhere.example",
            "https://elsewhere.example/",
            "/warnings?site=a&x=\r\nSet-Cookie: a=b",
            "/%2f",
        ] {
            assert_eq!(inside(to), "/", "{to:?}");
        }
    }
}
