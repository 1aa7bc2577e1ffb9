//! Why stock ran out: when it did, since when it was low, and how the blame is split. What an order point
//! and an expectation are is in [`forecast`](crate::forecast) and [`review`](crate::review); which orders
//! were due is the caller's business.

use chrono::{DateTime, Utc};

use crate::named::named;
use crate::special::real;

#[cfg(test)]
mod tests;

/// One fact about the stock of a part at a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// When it happened.
    pub at: DateTime<Utc>,
    /// What happened.
    pub change: Change,
}

/// What happened to the stock of a part, in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// So many were used and logged; below zero what was put back.
    Used(i64),
    /// So many were found missing by the count of that instant, and booked as used.
    Unlogged(i64),
    /// So many came in, or below zero left, in any other way.
    Moved(i64),
    /// So many were counted.
    Counted(i64),
}

named! {
    /// How it was found that there was none left.
    Found, "way to find that stock ran out" {
        /// The last one was taken, or one more than the book had.
        Use = "use",
        /// A count found none where the book still had some.
        Count = "count",
    }
}

named! {
    /// A cause of a run-out.
    Cause, "cause of a run-out" {
        /// Pieces were used and nobody logged it, so the book showed more than there was.
        UnloggedUse = "unlogged-use",
        /// An order that was due before came after.
        LateDelivery = "late-delivery",
        /// More was used than was expected when stock fell to its order point.
        Forecast = "forecast",
        /// An order that would have been there was not placed, or placed too late.
        NotOrdered = "not-ordered",
        /// Nothing of these.
        Rest = "rest",
    }
}

/// A time in which there was none left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunOut {
    /// When it began: at the use or the count that found none left.
    pub from: DateTime<Utc>,
    /// When there was some again; `None` while there is none.
    pub until: Option<DateTime<Utc>>,
    /// How it was found.
    pub found: Found,
    /// The book just before.
    pub book: i64,
    /// When stock last rose before: what follows is one way down.
    pub rose_at: Option<DateTime<Utc>>,
}

/// What is known of one run-out, in pieces (or in the unit of the part); each at least 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Used and logged since stock fell to its order point, the use that did it included.
    pub logged: i64,
    /// Expected over the same time; `None` where nothing could be expected.
    pub expected: Option<f64>,
    /// Found missing over the same time and booked as used.
    pub unlogged: i64,
    /// Not there although an order of them was due before.
    pub late: i64,
    /// What an order would have brought that was not placed in time.
    pub not_ordered: i64,
    /// Found missing by the count that found none left, and not booked as used.
    pub unexplained: i64,
}

/// A cause with its pieces and its share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The cause.
    pub cause: Cause,
    /// Pieces that would have been there without it.
    pub pieces: f64,
    /// Its share of all of them, above 0 to 1.
    pub share: f64,
}

/// The facts in the order in which they are to be read: by instant, and a count before what else is
/// dated at its instant, since that explains the count.
pub fn in_order(mut steps: Vec<Step>) -> Vec<Step> {
    steps.sort_by_key(|step| (step.at, !matches!(step.change, Change::Counted(_))));
    steps
}

/// The stock after each step, as the ledger has it: a count beats what came before it, and what is dated
/// at or before a count does not change it.
fn levels(steps: &[Step]) -> impl Iterator<Item = (&Step, i64, i64)> {
    let (mut on_hand, mut counted_at) = (0_i64, None);
    steps.iter().map(move |step| {
        let before = on_hand;
        let explains_a_count = counted_at.is_some_and(|counted| step.at <= counted);
        on_hand = match step.change {
            Change::Counted(counted) => {
                counted_at = Some(step.at);
                counted
            }
            _ if explains_a_count => on_hand,
            Change::Used(pieces) | Change::Unlogged(pieces) => on_hand.saturating_sub(pieces),
            Change::Moved(pieces) => on_hand.saturating_add(pieces),
        };
        (step, before, on_hand)
    })
}

/// Each time in which there was none left, the first first. `steps` are [`in_order`].
///
/// One begins with a use that leaves none, or less than none by the book, and with a count of none where
/// the book still had some. What is moved away without being used begins none: nobody asked for it. It
/// ends when there is some again. A part that never was there did not run out.
pub fn run_outs(steps: &[Step]) -> Vec<RunOut> {
    let mut found: Vec<RunOut> = Vec::new();
    let (mut was_there, mut rose_at) = (false, None);
    for (step, before, after) in levels(steps) {
        if after > before {
            rose_at = Some(step.at);
        }
        let open = found.last_mut().filter(|it| it.until.is_none());
        if after > 0 {
            was_there = true;
            if let Some(open) = open {
                open.until = Some(step.at);
            }
            continue;
        }
        let how = match step.change {
            Change::Used(pieces) if pieces > 0 && after < before => Some(Found::Use),
            Change::Counted(_) if before > 0 => Some(Found::Count),
            Change::Used(_) | Change::Counted(_) | Change::Unlogged(_) | Change::Moved(_) => None,
        };
        if let (Some(how), None, true) = (how, open, was_there) {
            found.push(RunOut {
                from: step.at,
                until: None,
                found: how,
                book: before,
                rose_at,
            });
        }
    }
    // What was taken back was no use.
    found.retain(|it| it.until != Some(it.from));
    found
}

/// Since when stock was at or below `order_point` without a break when it ran out.
pub fn low_since(steps: &[Step], run_out: &RunOut, order_point: i64) -> DateTime<Utc> {
    let mut since = None;
    for (step, _, after) in levels(steps).take_while(|(step, ..)| step.at <= run_out.from) {
        if after > order_point {
            since = None;
        } else {
            since = since.or(Some(step.at));
        }
    }
    since.unwrap_or(run_out.from)
}

/// What was used from one instant to another, both included: logged, and not logged.
pub fn used(steps: &[Step], (from, to): (DateTime<Utc>, DateTime<Utc>)) -> (i64, i64) {
    let within = steps.iter().filter(|step| (from..=to).contains(&step.at));
    within.fold((0, 0), |(logged, unlogged), step| match step.change {
        Change::Used(pieces) => (logged + pieces, unlogged),
        Change::Unlogged(pieces) => (logged, unlogged + pieces),
        Change::Moved(_) | Change::Counted(_) => (logged, unlogged),
    })
}

impl RunOut {
    /// What the count that found it had fewer than the book and was not booked as used; nothing where a
    /// use found it.
    pub fn unexplained(&self, steps: &[Step]) -> i64 {
        if self.found == Found::Use {
            return 0;
        }
        let (_, booked) = used(steps, (self.from, self.from));
        self.book.saturating_sub(booked).max(0)
    }
}

/// Splits the blame: each cause with the pieces that would have been there without it, the largest first.
/// The shares add up to 1.
///
/// Unlogged use, late pieces and those that were not ordered count as they are; the forecast counts
/// `max(0, logged - expected)`. Without a cause there would have been that many pieces more, whatever the
/// other causes are, so the causes add up, and the share of one is its pieces over those of all: for
/// amounts that add up, the Shapley value of each is the amount itself (Shapley, *A Value for n-Person
/// Games*, 1953). What nobody explained goes to [`Cause::Rest`], and so does all of it where there is no
/// cause: use was as expected, and an order point leaves a chance to run out.
pub fn blame(evidence: &Evidence) -> Vec<Part> {
    let pieces = |number: i64| real(u64::try_from(number).unwrap_or(0));
    let excess = evidence
        .expected
        .filter(|it| it.is_finite())
        .map_or(0.0, |it| (pieces(evidence.logged) - it).max(0.0));
    let causes = [
        (Cause::UnloggedUse, pieces(evidence.unlogged)),
        (Cause::LateDelivery, pieces(evidence.late)),
        (Cause::Forecast, excess),
        (Cause::NotOrdered, pieces(evidence.not_ordered)),
        (Cause::Rest, pieces(evidence.unexplained)),
    ];
    let all: f64 = causes.iter().map(|(_, pieces)| pieces).sum();
    if all <= 0.0 {
        return vec![Part {
            cause: Cause::Rest,
            pieces: 0.0,
            share: 1.0,
        }];
    }
    let parts = causes.into_iter().filter(|(_, pieces)| *pieces > 0.0);
    let mut parts: Vec<Part> = parts
        .map(|(cause, pieces)| Part {
            cause,
            pieces,
            share: pieces / all,
        })
        .collect();
    parts.sort_by(|a, b| b.share.total_cmp(&a.share));
    parts
}
