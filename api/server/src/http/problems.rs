//! The problems that operations share, as the contract shows them.

use types::Problem;
use utoipa::IntoResponses;

/// What every operation that needs a key can answer.
#[derive(IntoResponses)]
#[expect(dead_code, reason = "read by the contract only")]
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
