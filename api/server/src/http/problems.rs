//! The problems that operations share, as the contract shows them. Each operation lists those that it
//! can give.

#![expect(dead_code, reason = "read by the contract only")]

use types::Problem;
use utoipa::IntoResponses;

/// What every operation that needs a key can answer.
#[derive(IntoResponses)]
pub(super) enum Common {
    /// The request cannot be read.
    #[response(status = 400, content_type = "application/problem+json")]
    Malformed(Problem),
    /// A key is needed.
    #[response(status = 401, content_type = "application/problem+json")]
    Unauthenticated(Problem),
    /// The key's role does not cover this.
    #[response(status = 403, content_type = "application/problem+json")]
    Forbidden(Problem),
    /// The service has a fault.
    #[response(status = 500, content_type = "application/problem+json")]
    Internal(Problem),
    /// The service is busy.
    #[response(status = 503, content_type = "application/problem+json")]
    Unavailable(Problem),
}

/// What an operation on one thing can answer.
#[derive(IntoResponses)]
pub(super) enum Missing {
    /// There is no such thing.
    #[response(status = 404, content_type = "application/problem+json")]
    NotFound(Problem),
}

/// What an operation with a body can answer.
#[derive(IntoResponses)]
pub(super) enum Body {
    /// The body is too large.
    #[response(status = 413, content_type = "application/problem+json")]
    TooLarge(Problem),
    /// The body is not JSON.
    #[response(status = 415, content_type = "application/problem+json")]
    UnsupportedMediaType(Problem),
}

/// What an operation with rules can answer.
#[derive(IntoResponses)]
pub(super) enum Rules {
    /// It breaks a rule; `violations` names the fields.
    #[response(status = 422, content_type = "application/problem+json")]
    Invalid(Problem),
}

/// What an edit can answer.
#[derive(IntoResponses)]
pub(super) enum Edit {
    /// It has changed since it was read.
    #[response(status = 412, content_type = "application/problem+json")]
    Stale(Problem),
    /// `If-Match` is missing.
    #[response(status = 428, content_type = "application/problem+json")]
    PreconditionRequired(Problem),
}

/// What a record that may come again can answer.
#[derive(IntoResponses)]
pub(super) enum Repeat {
    /// It breaks a rule, or the idempotency key was used for another request.
    #[response(status = 422, content_type = "application/problem+json")]
    KeyReused(Problem),
    /// `Idempotency-Key` is missing.
    #[response(status = 428, content_type = "application/problem+json")]
    PreconditionRequired(Problem),
}
