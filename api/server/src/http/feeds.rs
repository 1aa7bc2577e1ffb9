//! Feeds: what other programs subscribe to. What they share is here, each feed in its own file.

use actix_web::HttpResponse;
use actix_web::http::header::{self, HeaderMap};
use data_encoding::HEXLOWER;
use sha2::{Digest, Sha256};
use utoipa_actix_web::service_config::ServiceConfig;

mod calendar;
mod warnings;

/// Every feed.
pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .configure(calendar::routes)
        .configure(warnings::routes);
}

/// A feed as an answer; without its text where the caller has that version. What tells versions apart is
/// `content`, which is all of it but what differs with each answer, so that the tag is weak.
fn answer(
    headers: &HeaderMap,
    content: &str,
    (media_type, text): (&str, impl FnOnce() -> String),
) -> HttpResponse {
    let digest = Sha256::digest(content);
    let tag = format!("W/\"{}\"", HEXLOWER.encode(&digest[..16]));
    let known = is_known(headers, &tag);
    let mut answer = if known {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    answer
        .insert_header((header::ETAG, tag))
        // For this caller only, and to be asked for again each time.
        .insert_header((header::CACHE_CONTROL, "private, no-cache"));
    if known {
        answer.finish()
    } else {
        answer.content_type(media_type).body(text())
    }
}

/// Whether the caller has that version, by the weak comparison of RFC 9110, 13.1.2.
fn is_known(headers: &HeaderMap, tag: &str) -> bool {
    let strong = |tag: &str| tag.trim().trim_start_matches("W/").to_owned();
    headers
        .get_all(header::IF_NONE_MATCH)
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .any(|known| known.trim() == "*" || strong(known) == strong(tag))
}

/// Text without control characters, which neither a calendar (RFC 5545, 3.3.11) nor XML may hold.
fn printable(text: &str) -> String {
    let is_control = |letter: char| letter.is_control() && letter != '\n' && letter != '\t';
    text.replace(is_control, " ")
}
