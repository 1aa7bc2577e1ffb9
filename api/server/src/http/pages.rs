//! The pages for people: what is next, the next job, the warnings, and signing in. They are HTML without
//! script, and no operations of the contract. A key reaches them in a cookie, which counts here only.

use actix_web::http::StatusCode;
use actix_web::web;
use serde::Deserialize;

mod count_form;
mod frame;
mod next_work;
mod origin;
mod refused;
mod session;
mod sign_in;
mod warning;
mod warnings;
mod what_next;
mod words;

/// The largest form that is taken, in bytes: a key, or a number.
const FORM_LIMIT_BYTES: usize = 4_096;

/// Every page and its address.
pub fn routes(config: &mut web::ServiceConfig) {
    config
        .app_data(forms())
        .route("/", web::get().to(what_next::show))
        .route("/next-job", web::get().to(next_work::show))
        .route("/warnings", web::get().to(warnings::show))
        .route("/warnings/{warning}", web::get().to(warning::show))
        .route("/warnings/{warning}/count", web::post().to(warning::count))
        .route("/warnings/{warning}/quiet", web::post().to(warning::quiet))
        .route("/warnings/{warning}/seen", web::post().to(warning::seen))
        .route("/sign-in", web::get().to(sign_in::show))
        .route("/sign-in", web::post().to(sign_in::enter))
        .route("/sign-out", web::post().to(sign_in::leave))
        .route("/count/{token}", web::get().to(count_form::show))
        .route("/count/{token}", web::post().to(count_form::record));
}

/// A form that cannot be read is answered by a page.
fn forms() -> web::FormConfig {
    web::FormConfig::default()
        .limit(FORM_LIMIT_BYTES)
        .error_handler(|error, _| {
            let why = format!(
                "The form cannot be read: {error}. Open the page again, and send it from there."
            );
            let answer = refused::plain(StatusCode::BAD_REQUEST, &why);
            actix_web::error::InternalError::from_response(error, answer).into()
        })
}

/// Which site a page is about; the first one unless told.
#[derive(Debug, Deserialize)]
struct Place {
    site: Option<String>,
}
