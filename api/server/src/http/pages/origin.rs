//! Where a form comes from. A cookie goes with whatever a browser sends here, whichever page made it send
//! it; so a form counts only if the browser says that a page of ours did.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header::{self, HeaderMap};
use actix_web::{FromRequest, HttpRequest, web};

use super::refused::Refused;
use crate::app::App;

/// A request that a page of ours made the browser send.
#[derive(Debug)]
pub(super) struct Ours {
    /// Whether the page came over TLS, as the browser saw it.
    pub(super) is_private: bool,
}

impl FromRequest for Ours {
    type Error = Refused;
    type Future = Ready<Result<Self, Refused>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(check(request))
    }
}

/// Lets a request pass that a page of ours made the browser send.
pub(super) fn check(request: &HttpRequest) -> Result<Ours, Refused> {
    let app = request.app_data::<web::Data<App>>();
    let public_url = app.and_then(|app| app.config.public_url.as_deref());
    let headers = request.headers();
    if !is_ours(headers, public_url) {
        return Err(Refused::Foreign);
    }
    let origin = text(headers, header::ORIGIN).unwrap_or_default();
    let is_private =
        origin.starts_with("https://") || public_url.is_some_and(|url| url.starts_with("https://"));
    Ok(Ours { is_private })
}

/// `Sec-Fetch-Site` says it outright, where the connection is private; else `Origin` names who asks. What
/// says neither comes from no browser of today.
fn is_ours(headers: &HeaderMap, public_url: Option<&str>) -> bool {
    if let Some(site) = headers.get("sec-fetch-site") {
        return site == "same-origin";
    }
    let Some((_, asks)) = text(headers, header::ORIGIN).and_then(|origin| origin.split_once("://"))
    else {
        return false;
    };
    let public = public_url.and_then(|url| url.split_once("://"));
    let public = public.and_then(|(_, rest)| rest.split('/').next());
    let ours = [text(headers, header::HOST), public];
    let mut ours = ours.into_iter().flatten();
    ours.any(|host| host.eq_ignore_ascii_case(asks))
}

fn text(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    headers.get(name)?.to_str().ok()
}
