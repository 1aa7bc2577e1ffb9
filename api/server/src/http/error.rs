//! The one place where a failure becomes a problem (RFC 9457) and gets its status.

use std::fmt;

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use types::{PROBLEM_MEDIA_TYPE, Problem, ProblemKind, Violation};
use uuid::Uuid;

use crate::service;

/// Seconds after which to try again when the service is busy.
const RETRY_AFTER: &str = "1";

/// A failure on its way to the caller.
#[derive(Debug)]
pub enum Error {
    /// A use case failed.
    Service(service::Error),
    /// The request could not be taken: its kind and what to do.
    Request(ProblemKind, String),
    /// The same with the fields at fault.
    Fields(ProblemKind, Vec<Violation>),
}

/// What a handler gives.
pub type Answer<T = HttpResponse> = Result<T, Error>;

impl From<service::Error> for Error {
    fn from(error: service::Error) -> Self {
        Self::Service(error)
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Service(error) => error.fmt(f),
            Self::Request(_, detail) => f.write_str(detail),
            Self::Fields(kind, _) => f.write_str(kind.title()),
        }
    }
}

/// The kind of problem that a failure of a use case is.
fn kind(error: &service::Error) -> ProblemKind {
    use service::Error as E;
    match error {
        E::NotFound { .. } => ProblemKind::NotFound,
        E::AlreadyExists { .. } => ProblemKind::AlreadyExists,
        E::InUse { .. } => ProblemKind::InUse,
        E::WrongState(_) => ProblemKind::WrongState,
        E::Stale { .. } => ProblemKind::Stale,
        E::Invalid(_) | E::Overflow => ProblemKind::Invalid,
        E::KeyReused(_) => ProblemKind::KeyReused,
        E::Unauthenticated(_) => ProblemKind::Unauthenticated,
        E::Forbidden { .. } => ProblemKind::Forbidden,
        E::Unavailable | E::CannotWrite { .. } => ProblemKind::Unavailable,
        E::Store(_) | E::Internal(_) => ProblemKind::Internal,
    }
}

/// The problem that a failure of a use case is; a fault of ours is logged, not told.
pub fn problem(error: &service::Error) -> Problem {
    let kind = kind(error);
    let instance = Uuid::now_v7();
    if kind.status() >= 500 {
        tracing::error!(%instance, error = error as &dyn std::error::Error, "a request failed");
    }
    let detail = if kind == ProblemKind::Internal {
        "The fault is in the service's log under the instance below.".to_owned()
    } else {
        error.to_string()
    };
    let violations = if let service::Error::Invalid(violations) = error {
        violations.clone()
    } else {
        Vec::new()
    };
    told(kind, instance, detail, violations)
}

fn told(kind: ProblemKind, instance: Uuid, detail: String, violations: Vec<Violation>) -> Problem {
    Problem {
        kind: kind.uri(),
        title: kind.title().to_owned(),
        status: kind.status(),
        detail,
        instance: instance.urn().to_string(),
        violations,
    }
}

impl Error {
    fn kind(&self) -> ProblemKind {
        match self {
            Self::Service(error) => kind(error),
            Self::Request(kind, _) | Self::Fields(kind, _) => *kind,
        }
    }

    fn problem(&self) -> Problem {
        match self {
            Self::Service(error) => problem(error),
            Self::Request(kind, detail) => told(*kind, Uuid::now_v7(), detail.clone(), Vec::new()),
            Self::Fields(kind, violations) => {
                let detail: Vec<String> = violations
                    .iter()
                    .map(|told| format!("{}: {}", told.pointer, told.detail))
                    .collect();
                told(*kind, Uuid::now_v7(), detail.join("; "), violations.clone())
            }
        }
    }
}

impl ResponseError for Error {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.kind().status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        let problem = self.problem();
        let mut response = HttpResponse::build(self.status_code());
        response.insert_header((header::CONTENT_TYPE, PROBLEM_MEDIA_TYPE));
        if self.kind() == ProblemKind::Unauthenticated {
            response.insert_header((header::WWW_AUTHENTICATE, "Bearer realm=\"tigstock\""));
        }
        if self.kind() == ProblemKind::Unavailable {
            response.insert_header((header::RETRY_AFTER, RETRY_AFTER));
        }
        let body = serde_json::to_string(&problem).unwrap_or_default();
        response.body(body)
    }
}
