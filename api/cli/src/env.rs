//! The surroundings of a command: clock, time zone, variables, folders, terminal. They are values, so
//! that a test can give others than the process has.

use std::io::{self, BufRead, IsTerminal};
use std::path::PathBuf;

use chrono::{DateTime, FixedOffset, Local, MappedLocalTime, NaiveDateTime, SubsecRound, TimeZone};
use client::profile::Profile;

const STATE_VARIABLE: &str = "TIGSTOCK_STATE";

/// The surroundings of a command.
#[expect(missing_debug_implementations, reason = "it holds a key and a stream")]
pub struct Env {
    /// The present, with the offset of the place.
    pub now: DateTime<FixedOffset>,
    /// The zone that times of day are meant in.
    pub zone: Zone,
    /// The address of the service, where the command line gives none (`TIGSTOCK_SERVER`).
    pub server: Option<String>,
    /// The secret of a key, where the command line gives none (`TIGSTOCK_KEY`).
    pub key: Option<String>,
    /// The profile file; `None` if the system has no place for it.
    pub profile: Option<PathBuf>,
    /// The folder for what is kept between commands; `None` if the system has no place for it.
    pub state: Option<PathBuf>,
    /// Whether a person can be asked.
    pub is_terminal: bool,
    /// Where a person's answers come from.
    pub input: Box<dyn BufRead>,
}

/// A time zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// That of this computer.
    System,
    /// Always this offset from UTC.
    Fixed(FixedOffset),
}

impl Env {
    /// Those of this process, with the clock read once.
    pub fn from_process() -> Self {
        let text = |name| {
            std::env::var(name)
                .ok()
                .filter(|value| !value.trim().is_empty())
        };
        let state = std::env::var_os(STATE_VARIABLE).filter(|path| !path.is_empty());
        Self {
            now: Local::now().fixed_offset().trunc_subsecs(6),
            zone: Zone::System,
            server: text("TIGSTOCK_SERVER"),
            key: text("TIGSTOCK_KEY"),
            profile: Profile::path(),
            state: state
                .map(PathBuf::from)
                .or_else(|| dirs::data_local_dir().map(|folder| folder.join("tigstock"))),
            is_terminal: io::stdin().is_terminal() && io::stderr().is_terminal(),
            input: Box::new(io::stdin().lock()),
        }
    }
}

impl Zone {
    /// The instants at which the clocks of the zone show `local`: two when they are put back.
    pub(crate) fn instants(self, local: NaiveDateTime) -> MappedLocalTime<DateTime<FixedOffset>> {
        match self {
            Self::System => Local
                .from_local_datetime(&local)
                .map(|it| it.fixed_offset()),
            Self::Fixed(offset) => offset.from_local_datetime(&local),
        }
    }

    /// What the clocks of the zone show at an instant.
    pub(crate) fn clock<Tz: TimeZone>(self, instant: &DateTime<Tz>) -> NaiveDateTime {
        match self {
            Self::System => instant.with_timezone(&Local).naive_local(),
            Self::Fixed(offset) => instant.with_timezone(&offset).naive_local(),
        }
    }
}
