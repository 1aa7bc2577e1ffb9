//! The only source of the present, so that a test can stop it or set it.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, Utc};

/// A clock: the system's, or one that stands where it was put.
#[derive(Clone, Debug, Default)]
pub struct Clock {
    standing: Option<Arc<AtomicI64>>,
}

impl Clock {
    /// The system's clock.
    pub fn system() -> Self {
        Self::default()
    }

    /// A clock that stands at an instant until it is set.
    pub fn standing_at(now: DateTime<Utc>) -> Self {
        Self {
            standing: Some(Arc::new(AtomicI64::new(now.timestamp_micros()))),
        }
    }

    /// Sets a standing clock; the system's is not touched.
    pub fn set(&self, now: DateTime<Utc>) {
        if let Some(standing) = &self.standing {
            standing.store(now.timestamp_micros(), Ordering::SeqCst);
        }
    }

    /// The present, to the microsecond.
    #[expect(
        clippy::disallowed_methods,
        reason = "the one place that reads the system's clock"
    )]
    pub fn now(&self) -> DateTime<Utc> {
        let micros = match &self.standing {
            Some(standing) => standing.load(Ordering::SeqCst),
            None => Utc::now().timestamp_micros(),
        };
        super::instant::from_micros(micros)
    }
}
