//! Electrodes as a budget of length: what grinds, cut-backs and the arc take off a rod, and the starting assumption
//! that follows. The shop's own record goes before it, in the parent; how lives vary is in
//! [`gamma_life`](super::gamma_life).

use std::f64::consts::PI;

use thiserror::Error;

use super::{Gamma, GammaError};
use crate::exposure::{ArcTime, Grinds};
use crate::size::{Diameter, RodLength};
use crate::special;

#[cfg(test)]
mod tests;

/// A length lost each time, and where the figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// In micrometres.
    pub um: i64,
    /// Where it comes from, for whoever is shown it.
    pub evidence: &'static str,
}

/// What one grind takes off, if nothing has to be cut off first: 2 mm.
pub const GRIND: Starter = Starter {
    um: 2_000,
    evidence: "from memory; no published figure was found",
};

/// What is cut off and ground anew when a tip is contaminated: 13 mm, half an inch.
pub const CUT_BACK: Starter = Starter {
    um: 13_000,
    evidence: "common practice, as taught in courses; 3 to 6 mm is also heard",
};

/// What an hour of arc takes off a rod of 2.4 mm at a current within its range: 0.2 mm.
pub const ARC_HOUR: Starter = Starter {
    um: 200,
    evidence: "worked out from a published loss of 0.1 to 0.3 mg a minute; hundreds of times more at the maximum current",
};

/// The shortest rod that is still used in a torch of the large family: 40 mm.
pub const STUB_LARGE: Starter = Starter {
    um: 40_000,
    evidence: "from memory; it depends on collet, body and stickout",
};

/// The shortest rod that is still used in a torch of the small family: 27 mm.
pub const STUB_SMALL: Starter = Starter {
    um: 27_000,
    evidence: "from memory; it depends on collet, body and stickout",
};

/// How many of a hundred grinds begin with a cut-back, where only grinds are logged; invented.
pub const CUT_BACKS_PERCENT: i64 = 30;

/// How many grinds there are in an arc hour, where only grinds are logged; invented.
const GRINDS_PER_ARC_HOUR: i64 = 3;

/// How many electrodes the starting assumption is worth, so that a box of ten outweighs it.
pub const WEIGHT: f64 = 2.0;

/// The density of tungsten, in milligrams per cubic millimetre.
const DENSITY: f64 = 19.25;

/// The diameter that [`ARC_HOUR`] is given for, in micrometres.
const ARC_HOUR_DIAMETER_UM: i64 = 2_400;

/// Why there is no budget, or no assumption from it.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LengthError {
    /// The rod is no longer than its stub.
    #[error(
        "a rod of {length} has nothing above a stub of {stub_um} micrometres; give a shorter stub"
    )]
    NothingUsable {
        /// How long the rod is.
        length: RodLength,
        /// The stub, in micrometres.
        stub_um: i64,
    },
    /// A loss that is not above 0, or longer than any rod.
    #[error("a loss is from 1 to 700000 micrometres, not {0}")]
    Loss(i64),
    /// The rate that follows is out of range.
    #[error(transparent)]
    Rate(#[from] GammaError),
}

/// The length of a rod that can be spent: its length less the shortest stub that is still used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    usable_um: i64,
}

/// What a rod loses each time, in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Losses {
    /// At a grind that is no cut-back.
    pub per_grind_um: i64,
    /// At a cut-back, with the grind that follows.
    pub per_cut_back_um: i64,
    /// In an hour of arc.
    pub per_arc_hour_um: i64,
}

/// What wears electrodes in a piece of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Spending {
    /// Grinds that are no cut-backs.
    pub grinds: Grinds,
    /// Cut-backs.
    pub cut_backs: Grinds,
    /// Arc time.
    pub arc: ArcTime,
}

impl Budget {
    /// The budget of a rod with the shortest stub that is still used, in micrometres.
    ///
    /// # Errors
    /// [`LengthError::NothingUsable`] if the stub is negative or not shorter than the rod.
    ///
    /// ```
    /// use tigstock_domain::size::RodLength;
    /// use tigstock_domain::wear::length::Budget;
    /// let budget = Budget::new(RodLength::parse("150 mm")?, 45_000)?;
    /// assert_eq!(budget.usable_um(), 105_000);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(length: RodLength, stub_um: i64) -> Result<Self, LengthError> {
        if stub_um < 0 || stub_um >= length.um() {
            return Err(LengthError::NothingUsable { length, stub_um });
        }
        Ok(Self {
            usable_um: length.um() - stub_um,
        })
    }

    /// What can be spent, in micrometres.
    pub fn usable_um(self) -> i64 {
        self.usable_um
    }

    /// How many rods a loss in micrometres is, as a fraction; 0 for one that is negative.
    pub fn rods(self, spent_um: i64) -> f64 {
        real(spent_um) / real(self.usable_um)
    }

    /// The starting assumption in electrodes per event, where each takes `loss_um` off: two electrodes in as many
    /// events as two budgets pay for.
    ///
    /// # Errors
    /// [`LengthError`] for a loss outside 1 to 700 000 micrometres.
    pub fn assumption(self, loss_um: i64) -> Result<Gamma, LengthError> {
        if !(1..=RodLength::MAX_UM).contains(&loss_um) {
            return Err(LengthError::Loss(loss_um));
        }
        let events = real(self.usable_um) / real(loss_um);
        Ok(Gamma::new(WEIGHT, WEIGHT * events)?)
    }

    /// What each event took off on average, in micrometres, if so many electrodes were used in so many events of one
    /// kind; none without either.
    pub fn observed_loss_um(self, electrodes: u64, events: u64) -> Option<f64> {
        (electrodes > 0 && events > 0).then(|| {
            let each = special::real(electrodes) / special::real(events);
            each * real(self.usable_um)
        })
    }
}

impl Losses {
    /// The starting figures for a diameter: [`GRIND`], [`CUT_BACK`], and [`ARC_HOUR`] by the area of the section.
    pub fn starter(diameter: Diameter) -> Self {
        let thicker = real(diameter.um()) / real(ARC_HOUR_DIAMETER_UM);
        let per_hour = real(ARC_HOUR.um) / (thicker * thicker);
        Self {
            per_grind_um: GRIND.um,
            per_cut_back_um: CUT_BACK.um,
            per_arc_hour_um: whole(per_hour).max(1),
        }
    }

    /// What a piece of work takes off, in micrometres, to the nearest one.
    pub fn spent_um(self, work: &Spending) -> i64 {
        let each = |events: Grinds, um: i64| i64::from(events.get()).saturating_mul(um);
        let arc = whole(work.arc.hours() * real(self.per_arc_hour_um));
        each(work.grinds, self.per_grind_um)
            .saturating_add(each(work.cut_backs, self.per_cut_back_um))
            .saturating_add(arc)
    }

    /// What a grind takes off where nothing but grinds is logged, in micrometres: 30 of 100 are taken to begin with a
    /// cut-back (invented), and the arc between two grinds takes its share (three grinds in
    /// an arc hour; invented).
    pub fn per_logged_grind_um(self) -> i64 {
        let plain = 100 - CUT_BACKS_PERCENT;
        let ground = plain.saturating_mul(self.per_grind_um);
        let cut = CUT_BACKS_PERCENT.saturating_mul(self.per_cut_back_um);
        ground.saturating_add(cut) / 100 + self.per_arc_hour_um / GRINDS_PER_ARC_HOUR
    }
}

/// How much shorter a loss of mass makes a rod, in micrometres of its full section; 0 for a loss that is negative or
/// not a number.
///
/// m / (rho pi d^2 / 4) with tungsten at 19.25 g/cm3.
pub fn burn_off_um(milligrams: f64, diameter: Diameter) -> i64 {
    let mm = real(diameter.um()) / 1_000.0;
    whole(milligrams / (DENSITY * PI * mm * mm / 4.0) * 1_000.0)
}

/// What is lost when a worn flat is ground back to a smaller one, in micrometres: the taper, in diameters of length for
/// each of thickness, times the difference; 0 if the flat is not larger.
pub fn repoint_um(worn_flat_um: i64, flat_um: i64, taper: f64) -> i64 {
    whole(taper * real(worn_flat_um.saturating_sub(flat_um)))
}

/// A number that is not negative as floating point.
fn real(number: i64) -> f64 {
    special::real(u64::try_from(number).unwrap_or(0))
}

/// The nearest whole number, 0 for what is negative or not a number.
fn whole(number: f64) -> i64 {
    i64::try_from(special::count_at_or_below(number + 0.5)).unwrap_or(i64::MAX)
}
