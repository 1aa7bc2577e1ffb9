//! What to check on a torch that uses electrodes faster than the others, in the order of what is known.
//! Nothing here says what the cause is, nor that anything is free of danger.

use crate::advice::Polarity;
use crate::named::named;
use crate::part::PartKind;

named! {
    /// One thing to check. The order is what is usual, by how often it is the cause and how little it
    /// takes to look (common practice, from memory).
    Check, "check" {
        /// Whether the record is right.
        Record = "record",
        /// The O-ring of the back cap.
        ORing = "o-ring",
        /// The shielding gas, from the fitting to the cup.
        Gas = "gas",
        /// The polarity.
        Polarity = "polarity",
        /// The current.
        Current = "current",
        /// The balance of an alternating current.
        Balance = "balance",
        /// The collet.
        Collet = "collet",
        /// The class of the electrode.
        Class = "class",
    }
}

impl Check {
    /// What to look at, in one line.
    pub fn text(self) -> &'static str {
        match self {
            Self::Record => {
                "Is the record right: the right torch, no course day, no pack booked as single pieces?"
            }
            Self::ORing => "Back-cap O-ring: missing, nicked, or the cap not seated.",
            Self::Gas => {
                "Gas: flow at the cup, hose and fittings, insulator seated, lens screen not blocked, no \
                 draught, post-flow long enough (a grey or blue electrode met air while it was hot)."
            }
            Self::Polarity => "Polarity: really DCEN.",
            Self::Current => "Current: within the band you set for the diameter.",
            Self::Balance => "AC only: balance not too far to electrode positive.",
            Self::Collet => "Collet: worn, so that the electrode slips and arcs inside.",
            Self::Class => "Class of the electrode: as labelled.",
        }
    }

    /// What is looked at, in a few words.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Record => "the record",
            Self::ORing => "the back-cap O-ring",
            Self::Gas => "the gas",
            Self::Polarity => "the polarity",
            Self::Current => "the current",
            Self::Balance => "the AC balance",
            Self::Collet => "the collet",
            Self::Class => "the class of the electrode",
        }
    }

    /// How often it is the cause, as a weight; invented, in the usual order.
    fn weight(self) -> f64 {
        match self {
            // Looked at first, whatever else is known: it costs nothing.
            Self::Record => f64::INFINITY,
            Self::ORing => 0.30,
            Self::Gas => 0.25,
            Self::Polarity => 0.12,
            Self::Current => 0.10,
            Self::Balance => 0.08,
            Self::Collet => 0.07,
            Self::Class => 0.05,
        }
    }
}

/// What is known of the torch beside how much it uses.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Evidence {
    /// Kinds of parts that were changed shortly before it began.
    pub changed: Vec<PartKind>,
    /// The polarity most of the work was logged with.
    pub polarity: Option<Polarity>,
    /// What else was seen.
    pub signs: Vec<Sign>,
}

/// What may be seen of a torch or its record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Work was logged above the shop's own band of current.
    AboveBand,
    /// One entry tells of five pieces or more.
    LargeEntry,
    /// A course was held at the site meanwhile.
    Course,
    /// The electrode was grey or blue.
    GreyTip,
}

/// Why a check stands higher than usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// A part of this kind was changed shortly before it began.
    Changed(PartKind),
    /// Work was logged with this polarity.
    Logged(Polarity),
    /// This was seen.
    Seen(Sign),
}

/// A check, and why it stands where it does; no reason if that is usual.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ranked {
    /// What to check.
    pub check: Check,
    /// What speaks for it.
    pub reasons: Vec<Reason>,
}

/// All checks, the likeliest first. What is known weighs each by how many times as often it is seen with
/// that cause than without it (invented); equals keep the usual order.
pub fn ranked(evidence: &Evidence) -> Vec<Ranked> {
    let mut weighed: Vec<(f64, Ranked)> = Check::ALL
        .iter()
        .map(|check| {
            let speaks = speaks_for(*check, evidence);
            let weight = speaks.iter().fold(check.weight(), |sum, (by, _)| sum * by);
            let reasons = speaks.into_iter().filter_map(|(_, reason)| reason);
            let ranked = Ranked {
                check: *check,
                reasons: reasons.collect(),
            };
            (weight, ranked)
        })
        .collect();
    weighed.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    weighed.into_iter().map(|(_, ranked)| ranked).collect()
}

/// What is known that speaks for a check, or against it without a reason to tell.
fn speaks_for(check: Check, known: &Evidence) -> Vec<(f64, Option<Reason>)> {
    let mut found = Vec::new();
    let changed = |kinds: &[PartKind]| known.changed.iter().copied().find(|it| kinds.contains(it));
    let mut changed_by = |kinds: &[PartKind], times: f64| {
        if let Some(kind) = changed(kinds) {
            found.push((times, Some(Reason::Changed(kind))));
        }
    };
    match check {
        Check::ORing => changed_by(&[PartKind::BackCap, PartKind::ORing], 4.0),
        Check::Gas => changed_by(
            &[
                PartKind::Insulator,
                PartKind::Cup,
                PartKind::GasLens,
                PartKind::ColletBody,
            ],
            4.0,
        ),
        Check::Collet => changed_by(&[PartKind::Collet], 6.0),
        Check::Class => changed_by(&[PartKind::Electrode], 8.0),
        Check::Record | Check::Polarity | Check::Current | Check::Balance => {}
    }
    let logged = known.polarity.map(Reason::Logged);
    found.extend(match (check, known.polarity) {
        (Check::Polarity, Some(Polarity::Dcep)) => Some((20.0, logged)),
        (Check::Polarity, Some(Polarity::Ac)) => Some((0.1, None)),
        (Check::Balance, Some(Polarity::Ac)) => Some((5.0, logged)),
        _ => None,
    });
    let seen = known.signs.iter().filter_map(|sign| {
        let times = match (check, sign) {
            (Check::Record, Sign::LargeEntry | Sign::Course) => 1.0,
            (Check::Gas, Sign::GreyTip) => 4.0,
            (Check::ORing, Sign::GreyTip) => 2.5,
            (Check::Current, Sign::AboveBand) => 8.0,
            _ => return None,
        };
        Some((times, Some(Reason::Seen(*sign))))
    });
    found.extend(seen);
    found
}
