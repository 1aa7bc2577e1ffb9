//! Why a command could not do its work, and with which exit code it ends.

use std::io;
use std::path::PathBuf;

use types::{ProblemKind, Violation};

/// Exit codes. Those from 64 are the usual ones of `sysexits`.
pub(crate) mod exit {
    /// Done; of `plan`: all enough.
    pub(crate) const DONE: u8 = 0;
    /// `plan`: something to order.
    pub(crate) const TO_ORDER: u8 = 1;
    /// `plan`: the job is blocked.
    pub(crate) const BLOCKED: u8 = 2;
    /// `plan` and `forecast --track-record`: could not tell; an entry was kept aside.
    pub(crate) const UNKNOWN: u8 = 3;
    /// Bad command line.
    pub(crate) const USAGE: u8 = 64;
    /// Refused by the server; of `import`: rows need a person, or the sheet cannot be taken.
    pub(crate) const REFUSED: u8 = 65;
    /// Server not reachable.
    pub(crate) const UNREACHABLE: u8 = 69;
    /// This computer could not keep or print something.
    pub(crate) const LOCAL: u8 = 74;
    /// The profile cannot be used.
    pub(crate) const PROFILE: u8 = 78;
}

/// Why a command could not do its work.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// The words of the command line make no sense; the text says what to write.
    #[error("{0}")]
    CommandLine(String),
    /// The entry breaks a rule that needs no server to be seen.
    #[error("this cannot be recorded")]
    Invalid(Vec<Violation>),
    /// The service refused, or could not be reached.
    #[error(transparent)]
    Service(#[from] client::Error),
    /// The profile cannot be used.
    #[error(transparent)]
    Profile(#[from] client::profile::Error),
    /// What is kept between commands could not be read or written.
    #[error("{} cannot be read or written; TIGSTOCK_STATE names another folder", path.display())]
    State {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file cannot be read.
    #[error("{} cannot be read", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file cannot be written.
    #[error("{} cannot be written; name another file", path.display())]
    NotWritten {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A sheet cannot be taken as a whole.
    #[error("{} is refused: {why}", path.display())]
    Sheet {
        /// The file.
        path: PathBuf,
        /// Why, and what to do.
        why: String,
    },
    /// The answer could not be printed.
    #[error("the answer could not be printed")]
    Print(#[source] io::Error),
    /// This computer could not do something else.
    #[error("this computer could not {doing}")]
    System {
        /// What.
        doing: &'static str,
        /// What the system says.
        source: io::Error,
    },
}

impl Failure {
    pub(crate) fn exit_code(&self) -> u8 {
        match self {
            Self::CommandLine(_) | Self::Invalid(_) => exit::USAGE,
            Self::Service(error) => service_exit_code(error),
            Self::Profile(_) => exit::PROFILE,
            Self::Sheet { .. } => exit::REFUSED,
            Self::State { .. }
            | Self::File { .. }
            | Self::NotWritten { .. }
            | Self::Print(_)
            | Self::System { .. } => exit::LOCAL,
        }
    }
}

fn service_exit_code(error: &client::Error) -> u8 {
    match error {
        client::Error::Address { .. } | client::Error::Key | client::Error::Name(_) => exit::USAGE,
        // A service that says it is busy or away is as good as not there.
        client::Error::Problem(_) if error.is(ProblemKind::Unavailable) => exit::UNREACHABLE,
        client::Error::Problem(_) => exit::REFUSED,
        // Nothing was refused: a person has to say what is meant.
        client::Error::KeptAside(_) => exit::UNKNOWN,
        client::Error::Transport(_) | client::Error::Unexpected { .. } => exit::UNREACHABLE,
    }
}

impl From<Vec<Violation>> for Failure {
    fn from(violations: Vec<Violation>) -> Self {
        Self::Invalid(violations)
    }
}
