//! How requests are read, so that whatever is wrong with one is told as a problem: the settings of
//! the JSON, path and query extractors, and the two headers that matter.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::error::{JsonPayloadError, PathError, QueryPayloadError};
use actix_web::http::StatusCode;
use actix_web::http::header::{self, ContentType, HeaderMap};
use actix_web::{FromRequest, HttpRequest, HttpResponse, web};
use serde::Serialize;
use types::{ProblemKind, Violation};

use super::error::Error;
use crate::service::ledger;

/// The JSON settings: limit, media type, problems.
pub fn json(limit: usize) -> web::JsonConfig {
    web::JsonConfig::default()
        .limit(limit)
        .content_type_required(true)
        .error_handler(|error, _| {
            let (kind, detail) = why_unread(&error);
            Error::Request(kind, detail).into()
        })
}

/// Why a body could not be read, and what to do.
fn why_unread(error: &JsonPayloadError) -> (ProblemKind, String) {
    use JsonPayloadError as E;
    if let E::Overflow { limit } | E::OverflowKnownLength { limit, .. } = error {
        let detail = format!("the body is over {limit} bytes; send less at a time");
        return (ProblemKind::TooLarge, detail);
    }
    if let E::ContentType = error {
        let detail = "send JSON, with Content-Type: application/json".to_owned();
        return (ProblemKind::UnsupportedMediaType, detail);
    }
    (
        ProblemKind::MalformedRequest,
        format!("the body cannot be read: {error}"),
    )
}

/// The path settings: a name that cannot name a resource names none.
pub fn path() -> web::PathConfig {
    web::PathConfig::default().error_handler(|error: PathError, _| {
        Error::Request(
            ProblemKind::NotFound,
            format!("the address names nothing: {error}"),
        )
        .into()
    })
}

/// The query settings.
pub fn query() -> web::QueryConfig {
    web::QueryConfig::default().error_handler(|error: QueryPayloadError, _| {
        let why = error.to_string();
        let why = why
            .strip_prefix("Query deserialize error: ")
            .unwrap_or(&why)
            .to_owned();
        Error::Fields(
            ProblemKind::MalformedRequest,
            vec![Violation::new("?", why)],
        )
        .into()
    })
}

/// The `Idempotency-Key` of a record: without it a lost answer could not be told from a lost request.
#[derive(Clone, Debug)]
pub(super) struct IdempotencyKey(pub(super) String);

impl FromRequest for IdempotencyKey {
    type Error = Error;
    type Future = Ready<Result<Self, Error>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let key = request
            .headers()
            .get("Idempotency-Key")
            .and_then(|value| value.to_str().ok());
        // The header is a structured field (RFC 8941) in some clients, with quotation marks.
        let key = key.map(|key| key.trim().trim_matches('"').to_owned());
        ready(key.map(Self).ok_or_else(|| {
            let why = "Idempotency-Key: give the request an id of its own, such as a UUID, and the same one when you repeat it";
            Error::Request(ProblemKind::PreconditionRequired, why.to_owned())
        }))
    }
}

/// The `If-Match` of an edit: the version that was read.
#[derive(Clone, Copy, Debug)]
pub(super) struct IfMatch(pub(super) i64);

impl FromRequest for IfMatch {
    type Error = Error;
    type Future = Ready<Result<Self, Error>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(if_match(request.headers()))
    }
}

fn if_match(headers: &HeaderMap) -> Result<IfMatch, Error> {
    let Some(value) = headers.get(header::IF_MATCH) else {
        let why =
            "If-Match: read the resource first and send its ETag, so that no other edit is lost";
        return Err(Error::Request(
            ProblemKind::PreconditionRequired,
            why.to_owned(),
        ));
    };
    let version = value
        .to_str()
        .ok()
        .and_then(|value| value.trim().trim_matches('"').parse().ok());
    version.map(IfMatch).ok_or_else(|| {
        let why =
            "If-Match: not an ETag of this service; read the resource and send what came with it";
        Error::Request(ProblemKind::Stale, why.to_owned())
    })
}

/// The answer to reading or replacing a resource: its body and its version.
pub(super) fn tagged(version: i64, body: &impl Serialize) -> HttpResponse {
    HttpResponse::Ok().insert_header(etag(version)).json(body)
}

/// The answer to making a resource: where it is, its body and its version.
pub(super) fn created(path: &str, version: i64, body: &impl Serialize) -> HttpResponse {
    HttpResponse::Created()
        .insert_header((header::LOCATION, path.to_owned()))
        .insert_header(etag(version))
        .json(body)
}

fn etag(version: i64) -> (header::HeaderName, String) {
    (header::ETAG, format!("\"{version}\""))
}

/// An answer as it was kept, for the first request and every repeat of it.
pub(super) fn kept(answer: ledger::Answer) -> HttpResponse {
    let status = StatusCode::from_u16(answer.status).unwrap_or(StatusCode::CREATED);
    HttpResponse::build(status)
        .content_type(ContentType::json())
        .body(answer.body)
}
