//! What a page cannot show or do, as a page.

use std::fmt;

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use maud::html;

use super::frame::Page;
use crate::http::error::problem;
use crate::service::Error;

/// Why a page is not shown, or a form not done.
#[derive(Debug)]
pub(super) enum Refused {
    /// Nobody is signed in: sign in first, and go on there.
    SignIn(String),
    /// No page of ours sent the form.
    Foreign,
    /// A use case failed.
    Failed(Error),
}

impl From<Error> for Refused {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SignIn(_) => f.write_str("sign in first"),
            Self::Foreign => f.write_str(FOREIGN),
            Self::Failed(error) => error.fmt(f),
        }
    }
}

const FOREIGN: &str = "The form does not say that it comes from a page of this service. Open the page here, and \
                       send it from there.";

impl ResponseError for Refused {
    fn status_code(&self) -> StatusCode {
        match self {
            Self::SignIn(_) => StatusCode::SEE_OTHER,
            Self::Foreign => StatusCode::FORBIDDEN,
            Self::Failed(error) => status(problem(error).status),
        }
    }

    fn error_response(&self) -> HttpResponse {
        match self {
            Self::SignIn(to) => HttpResponse::SeeOther()
                .insert_header((header::LOCATION, format!("/sign-in?to={to}")))
                .insert_header((header::CACHE_CONTROL, "no-store"))
                .finish(),
            Self::Foreign => plain(StatusCode::FORBIDDEN, FOREIGN),
            Self::Failed(error) => {
                let told = problem(error);
                plain(status(told.status), &told.detail)
            }
        }
    }
}

fn status(code: u16) -> StatusCode {
    StatusCode::from_u16(code).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
}

/// A page that says why nothing was done.
pub(super) fn plain(status: StatusCode, why: &str) -> HttpResponse {
    let main = html! {
        p role="alert" { (why) }
        p { a class="way" href="/" { "What next" } }
    };
    Page::bare("Nothing was done", main).answer(status)
}
