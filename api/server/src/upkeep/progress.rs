//! How far long work is, on standard error: a line that is written over where somebody watches, a
//! line now and then where it is kept. Short work says nothing.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// Work that takes less is not worth a word.
const QUIET: Duration = Duration::from_secs(2);
/// How often a line is written where somebody watches, and where it is kept.
const STEPS: (Duration, Duration) = (Duration::from_millis(200), Duration::from_secs(10));

/// How far some work is.
#[derive(Debug)]
pub struct Progress {
    watched: bool,
    silent: bool,
    next: Instant,
    told: bool,
}

impl Progress {
    /// Work that begins now.
    pub fn begin() -> Self {
        Self {
            watched: std::io::stderr().is_terminal(),
            silent: false,
            next: Instant::now() + QUIET,
            told: false,
        }
    }

    /// Work that nobody is told of.
    pub fn silent() -> Self {
        Self {
            silent: true,
            ..Self::begin()
        }
    }

    /// Says that so much of so much is done, if it is time to say something.
    pub fn at(&mut self, what: &str, (done, all): (u64, u64), unit: impl Fn(u64) -> String) {
        let now = Instant::now();
        if self.silent || now < self.next {
            return;
        }
        self.next = now + if self.watched { STEPS.0 } else { STEPS.1 };
        self.told = true;
        let (done, all) = (unit(done), unit(all));
        let mut err = std::io::stderr();
        // Progress that cannot be shown is not worth a failure.
        let _ = if self.watched {
            write!(err, "\r\x1b[K{what}: {done} of {all}")
        } else {
            writeln!(err, "{what}: {done} of {all}")
        };
    }

    /// Clears the line that was written over.
    pub fn end(&mut self) {
        if self.watched && std::mem::take(&mut self.told) {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.end();
    }
}
