//! The life of a warning: when an episode opens, what is told in it and how often, and when it closes.
//! What is low and by how much is a [`Reading`], made of stock in [`Stock`]; quiet hours and the weekly
//! limit have modules of their own. What is watched is in [`watch`](crate::watch); words are not here.
//!
//! The rules are those of a good foreman (common practice, no source): say it once, with what to do; say
//! it again only if it got much worse; do not take it back for a piece that was put back.

use chrono::{DateTime, Utc};

use crate::named::named;

mod quiet;
mod stock;
#[cfg(test)]
mod tests;
mod week;

pub use quiet::{QUIET_DAYS_MAX, Quiet, QuietError, QuietHours, QuietHoursError};
pub use stock::{Stock, clear_level};
pub use week::{WEEKLY_LIMIT, WEEKLY_LIMIT_MAX, chosen, room};

/// A chance of a stop above this is worth a message by itself (product rule).
pub const CHANCE_LIMIT: f64 = 0.1;

/// How many times the chance of a stop must have become what it was when it was told, before it is told
/// again (product rule).
pub const ESCALATION_FACTOR: f64 = 2.0;

named! {
    /// What a warning is about.
    WarningKind, "kind of warning" {
        /// A part is at its order point, or may be short before a delivery.
        OrderPoint = "order-point",
        /// The last hour to order what a job or a course needs is near.
        OrderBy = "order-by",
        /// The kit of a job that is near is not complete, or not permitted.
        Kit = "kit",
        /// A torch uses electrodes faster than the others.
        TorchWear = "torch-wear",
        /// A lot was put on hold and pieces of it are out.
        LotOnHold = "lot-on-hold",
        /// Barred material was received.
        BarredReceived = "barred-received",
        /// Barred material was used.
        BarredUsed = "barred-used",
    }
}

impl WarningKind {
    /// Whether it is about safety or proof: then it is told at once, never held back and never silenced,
    /// only acknowledged.
    pub fn is_safety(self) -> bool {
        matches!(
            self,
            Self::LotOnHold | Self::BarredReceived | Self::BarredUsed
        )
    }
}

named! {
    /// Where a warning stands.
    WarningState, "state of a warning" {
        /// It stands, and was not told yet.
        Open = "open",
        /// It was told.
        Told = "told",
        /// It is silent until an instant, or until less is on hand.
        Quiet = "quiet-until",
        /// It is over.
        Closed = "closed",
    }
}

/// One reading of what is watched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Whether its limit is reached.
    pub is_low: bool,
    /// Whether it is so far above its limit that an episode may close.
    pub is_clear: bool,
    /// The chance of a stop, from 0 to 1: of being short before the next delivery.
    pub chance: f64,
    /// Pieces on hand, for a quiet that ends with less of them.
    pub on_hand: i64,
    /// Silent until then, since enough is on order: its due date and one open day.
    pub on_order_until: Option<DateTime<Utc>>,
}

impl Reading {
    /// Whether an episode opens: the limit is reached, or the chance of a stop is above
    /// `chance_limit`.
    pub fn opens(&self, chance_limit: f64) -> bool {
        self.is_low || self.chance > chance_limit
    }

    /// Whether what is on order keeps it silent: it is not late, and will do with a chance that is good
    /// enough.
    fn is_on_order(&self, moment: &Moment) -> bool {
        self.on_order_until.is_some_and(|until| moment.now < until)
            && self.chance <= moment.chance_limit
    }
}

/// When a reading is looked at, and whether anything may be told then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// The instant.
    pub now: DateTime<Utc>,
    /// Whether it is within the quiet hours of the site.
    pub is_quiet_time: bool,
    /// Whether the weekly limit leaves room for this message.
    pub has_room: bool,
    /// The chance of a stop above which it is worth a message.
    pub chance_limit: f64,
}

/// What was told, and how likely a stop was then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// When.
    pub at: DateTime<Utc>,
    /// The chance of a stop, from 0 to 1.
    pub chance: f64,
}

/// What happens in an episode at a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Happening {
    /// It is told, for the first time.
    Told,
    /// It is told again, since a stop has become much likelier.
    Escalated,
    /// It is over: a line in the digest, not a message.
    Closed,
}

/// One episode of one thing that is watched, from opening to closing.
#[derive(Debug, Clone, PartialEq)]
pub struct Episode {
    /// What it is about.
    pub kind: WarningKind,
    /// When it opened.
    pub opened_at: DateTime<Utc>,
    /// What was told first.
    pub told: Option<Told>,
    /// When it was told again; at most once.
    pub escalated_at: Option<DateTime<Utc>>,
    /// Whether and until when somebody wants to hear nothing.
    pub quiet: Option<Quiet>,
    /// When somebody said that it was seen.
    pub acknowledged_at: Option<DateTime<Utc>>,
    /// When it closed.
    pub closed_at: Option<DateTime<Utc>>,
}

impl Episode {
    /// An episode that opens at an instant.
    pub fn open(kind: WarningKind, now: DateTime<Utc>) -> Self {
        Self {
            kind,
            opened_at: now,
            told: None,
            escalated_at: None,
            quiet: None,
            acknowledged_at: None,
            closed_at: None,
        }
    }

    /// Where it stands at an instant with so many on hand.
    pub fn state(&self, now: DateTime<Utc>, on_hand: i64) -> WarningState {
        if self.closed_at.is_some() {
            WarningState::Closed
        } else if self.is_quiet(now, on_hand) {
            WarningState::Quiet
        } else if self.told.is_some() {
            WarningState::Told
        } else {
            WarningState::Open
        }
    }

    fn is_quiet(&self, now: DateTime<Utc>, on_hand: i64) -> bool {
        !self.kind.is_safety() && self.quiet.is_some_and(|quiet| quiet.holds(now, on_hand))
    }

    /// Whether it is over: clear of the limit, or, where it is about safety, acknowledged.
    fn is_over(&self, reading: &Reading, moment: &Moment) -> bool {
        if self.kind.is_safety() {
            return self.told.is_some() && self.acknowledged_at.is_some();
        }
        reading.is_clear && !reading.opens(moment.chance_limit)
    }

    /// What there is to say now, if quiet hours and the weekly limit let it: whoever shares out the
    /// weekly limit asks this first.
    pub fn wants(&self, reading: &Reading, moment: &Moment) -> Option<Happening> {
        if self.closed_at.is_some() || self.is_quiet(moment.now, reading.on_hand) {
            return None;
        }
        if self.kind.is_safety() {
            return self.told.is_none().then_some(Happening::Told);
        }
        match self.told {
            // What was low and is not any more waits for its closing, and is not told.
            None => (reading.opens(moment.chance_limit) && !reading.is_on_order(moment))
                .then_some(Happening::Told),
            Some(told) => {
                let is_worse = reading.chance > moment.chance_limit
                    && reading.chance >= ESCALATION_FACTOR * told.chance;
                (is_worse && self.escalated_at.is_none()).then_some(Happening::Escalated)
            }
        }
    }
}

/// The episode after a look, and what happened in it.
///
/// It is told once; again at most once, if the chance of a stop is above the limit and at least
/// [`ESCALATION_FACTOR`] times what was told; and it closes only where the reading is clear. What is quiet,
/// within quiet hours, without room in the week, or on order in time is not told yet. Safety waits for
/// nothing.
pub fn step(episode: &Episode, reading: &Reading, moment: &Moment) -> (Episode, Option<Happening>) {
    let mut next = episode.clone();
    if next.closed_at.is_some() {
        return (next, None);
    }
    if next.quiet.is_some() && !next.is_quiet(moment.now, reading.on_hand) {
        next.quiet = None;
    }
    if next.is_over(reading, moment) {
        next.closed_at = Some(moment.now);
        return (next, Some(Happening::Closed));
    }
    let may_speak = next.kind.is_safety() || (moment.has_room && !moment.is_quiet_time);
    let wanted = next.wants(reading, moment).filter(|_| may_speak);
    match wanted {
        Some(Happening::Told) => {
            let chance = reading.chance;
            next.told = Some(Told {
                at: moment.now,
                chance,
            });
        }
        Some(Happening::Escalated) => next.escalated_at = Some(moment.now),
        Some(Happening::Closed) | None => {}
    }
    (next, wanted)
}
