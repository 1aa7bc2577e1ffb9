//! Problem details (RFC 9457): the one shape in which every failure is told. Clients branch on
//! `type`; people read `title`, `detail` and `violations`.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::Violation;

/// The media type of every problem.
pub const PROBLEM_MEDIA_TYPE: &str = "application/problem+json";

/// Where the kinds are described; `type` is this followed by the slug.
pub const PROBLEM_BASE: &str = "https://tigstock.example/problems#";

/// A failure, as the caller sees it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Problem {
    /// Identifies the kind of problem; see `openapi/problems.md`.
    #[serde(rename = "type")]
    #[schema(example = "https://tigstock.example/problems#invalid")]
    pub kind: String,
    /// The same for every problem of the kind.
    #[schema(example = "The request breaks a rule")]
    pub title: String,
    /// The HTTP status, repeated.
    #[schema(example = 422)]
    pub status: u16,
    /// What happened this time, and what to do next.
    pub detail: String,
    /// `urn:uuid:` and the request id; quote it when you report a fault.
    pub instance: String,
    /// The fields at fault, if the request was well formed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub violations: Vec<Violation>,
}

impl Problem {
    /// The slug after the `#` of the type.
    pub fn slug(&self) -> &str {
        self.kind.rsplit('#').next().unwrap_or(&self.kind)
    }
}

macro_rules! problem_kinds {
    ($($(#[doc = $doc:literal])* $variant:ident = $slug:literal, $status:literal, $title:literal;)*) => {
        /// Every kind of problem there is.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum ProblemKind { $($(#[doc = $doc])* $variant,)* }

        impl ProblemKind {
            /// All kinds, in the order of `openapi/problems.md`.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The last part of the type.
            pub const fn slug(self) -> &'static str {
                match self { $(Self::$variant => $slug,)* }
            }

            /// The HTTP status.
            pub const fn status(self) -> u16 {
                match self { $(Self::$variant => $status,)* }
            }

            /// The title, constant per kind.
            pub const fn title(self) -> &'static str {
                match self { $(Self::$variant => $title,)* }
            }
        }
    };
}

problem_kinds! {
    /// Not JSON, a wrong JSON type, an unknown field, a bad query.
    MalformedRequest = "malformed-request", 400, "The request cannot be read";
    /// No key, or one that is unknown or revoked.
    Unauthenticated = "unauthenticated", 401, "A key is needed";
    /// The key's role does not cover the operation.
    Forbidden = "forbidden", 403, "The key's role does not cover this";
    /// No such resource, or a name that cannot name one.
    NotFound = "not-found", 404, "Not found";
    /// The path exists, the method does not.
    MethodNotAllowed = "method-not-allowed", 405, "The method is not allowed here";
    /// The name is taken.
    AlreadyExists = "already-exists", 409, "The name is taken";
    /// Something else refers to it.
    InUse = "in-use", 409, "It is in use";
    /// The state does not allow it, such as placing an order twice.
    WrongState = "wrong-state", 409, "The state does not allow this";
    /// `If-Match` does not name the current version.
    Stale = "stale", 412, "It has changed since you read it";
    /// The body is over the limit.
    TooLarge = "too-large", 413, "The body is too large";
    /// The body is not `application/json`.
    UnsupportedMediaType = "unsupported-media-type", 415, "The content type is not supported";
    /// Well formed, but it breaks a rule; see `violations`.
    Invalid = "invalid", 422, "The request breaks a rule";
    /// The idempotency key came before with another body.
    KeyReused = "key-reused", 422, "The idempotency key was used for another request";
    /// An edit without `If-Match`, or a record without `Idempotency-Key`.
    PreconditionRequired = "precondition-required", 428, "A header is missing";
    /// A fault of the service; the detail is in its log.
    Internal = "internal", 500, "The service has a fault";
    /// The database is busy or away, or the request took too long.
    Unavailable = "unavailable", 503, "The service is busy";
}

impl ProblemKind {
    /// The full `type`.
    pub fn uri(self) -> String {
        format!("{PROBLEM_BASE}{}", self.slug())
    }
}
