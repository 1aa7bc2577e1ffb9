//! What can go wrong between a call and its answer. What a problem means to a person is said by the
//! service, in the problem itself.

use types::{KeptAside, Problem, ProblemKind};

/// Why a call has no answer.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The address of the service is not one.
    #[error("\"{address}\" is not the address of a service: {why}")]
    Address {
        /// What was given.
        address: String,
        /// What is wrong with it.
        why: String,
    },
    /// The secret holds characters that a header cannot carry.
    #[error("the key holds characters that a key never has; copy it again")]
    Key,
    /// A name that no address can carry, such as nothing at all or two dots.
    #[error("\"{0}\" cannot name anything; give a code")]
    Name(String),
    /// Nothing answered, or the line broke.
    #[error("no answer from {}", place(.0))]
    Transport(#[from] reqwest::Error),
    /// The service answered that it will not or cannot.
    #[error("{}: {}", .0.title, .0.detail)]
    Problem(Box<Problem>),
    /// The service kept the entry aside, since its date is out of bounds: nothing is lost, and
    /// nothing is recorded until the question is answered.
    #[error("{}", .0.says)]
    KeptAside(Box<KeptAside>),
    /// Something answered, but not as the service would.
    #[error("an answer that is not the service's (HTTP status {status}); check the address")]
    Unexpected {
        /// The HTTP status.
        status: u16,
        /// The start of the body.
        body: String,
    },
}

impl Error {
    /// Whether the service could not be reached: nothing listens, the line broke, the time ran out,
    /// or a gateway says so in its place. The request may have arrived all the same.
    pub fn is_unreachable(&self) -> bool {
        match self {
            Self::Transport(error) => !error.is_builder() && !error.is_decode(),
            Self::Unexpected { status, .. } => matches!(status, 502..=504),
            Self::Address { .. }
            | Self::Key
            | Self::Name(_)
            | Self::Problem(_)
            | Self::KeptAside(_) => false,
        }
    }

    /// Whether the request certainly never reached the service: there was no connection.
    pub fn is_unsent(&self) -> bool {
        match self {
            Self::Transport(error) => error.is_connect() || error.is_builder(),
            Self::Address { .. } | Self::Key | Self::Name(_) => true,
            Self::Problem(_) | Self::KeptAside(_) | Self::Unexpected { .. } => false,
        }
    }

    /// The problem, if the service answered with one.
    pub fn problem(&self) -> Option<&Problem> {
        match self {
            Self::Problem(problem) => Some(problem),
            Self::Address { .. }
            | Self::Key
            | Self::Name(_)
            | Self::Transport(_)
            | Self::KeptAside(_)
            | Self::Unexpected { .. } => None,
        }
    }

    /// Whether the service answered with a problem of that kind.
    pub fn is(&self, kind: ProblemKind) -> bool {
        self.problem()
            .is_some_and(|problem| problem.slug() == kind.slug())
    }
}

/// The address that was called, without the path.
fn place(error: &reqwest::Error) -> String {
    error.url().map_or_else(
        || "the service".to_owned(),
        |url| url.origin().ascii_serialization(),
    )
}
