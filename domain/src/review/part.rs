//! One part of the review: what drives it, what each group used of it, and what is known of its
//! rates. How groups compare is not decided here.

use crate::wear::Gamma;
use crate::wear::two_drivers::{Cell, Posterior, SplitRecord, TwoDriverError};

/// What wears a part, each driver with the starting assumption of its rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drivers {
    /// The first driver only, as arc hours for a cup.
    First(Gamma),
    /// The second driver only, as grinds for a grinding wheel.
    Second(Gamma),
    /// Both, as for an electrode.
    Both(Gamma, Gamma),
}

impl Drivers {
    /// The first driver only, of a part that is not known at all: not even whether it goes once in
    /// ten hours or once in ten thousand.
    ///
    /// Gamma(0.1, 5), nearly the law that favours no order of magnitude (H. Jeffreys, *Theory of
    /// Probability*, on scale parameters): as soon as a piece was used, the expected rate is all but
    /// pieces over exposure. A shape of 0.5 would add half a piece to every part, which is half of
    /// what a part that lasts a year uses in one.
    pub fn first_unknown() -> Self {
        Self::First(Gamma::written(0.1, 5.0))
    }

    /// The second driver only, of a part that is not known at all.
    pub fn second_unknown() -> Self {
        Self::Second(Gamma::written(0.1, 5.0))
    }

    /// Whether the second driver wears the part.
    pub fn have_second(&self) -> bool {
        matches!(self, Self::Second(_) | Self::Both(..))
    }

    /// Both drivers, of a part of which it is not known which matters more: Gamma(0.5, 20) each, the
    /// least that the quadrature over the split carries.
    pub fn both_unknown() -> Self {
        let weak = Gamma::written(0.5, 20.0);
        Self::Both(weak, weak)
    }
}

/// The record of a part. Groups that are kept apart have a split of their own, so each group has.
#[derive(Debug, Clone)]
pub(super) struct Part {
    drivers: Drivers,
    splits: Vec<SplitRecord>,
    used: Vec<u64>,
}

/// What is known of the rates of a part.
#[derive(Debug, Clone)]
pub(super) enum Known {
    /// The rate by one driver, 0 the first and 1 the second.
    One(usize, Gamma),
    /// The rates by both.
    Both(Posterior),
}

impl Part {
    pub(super) fn new(drivers: Drivers, groups: usize) -> Result<Self, TwoDriverError> {
        let splits = vec![SplitRecord::new(1.0)?; groups];
        let used = vec![0; groups];
        Ok(Self {
            drivers,
            splits,
            used,
        })
    }

    /// Pieces used, by group.
    pub(super) fn used(&self) -> &[u64] {
        &self.used
    }

    /// Adds the use of a day by a group that had these exposures.
    pub(super) fn take_in(
        &mut self,
        group: usize,
        exposures: [f64; 2],
        pieces: u64,
    ) -> Result<(), TwoDriverError> {
        self.splits[group].add(Cell {
            first: exposures[0],
            second: exposures[1],
            events: pieces,
        })?;
        self.used[group] += pieces;
        Ok(())
    }

    /// What is known of the rates from the use of these groups together, over these effective
    /// exposures of theirs together.
    pub(super) fn known(
        &self,
        groups: &[usize],
        exposures: [f64; 2],
    ) -> Result<Known, TwoDriverError> {
        let used: u64 = groups.iter().map(|group| self.used[*group]).sum();
        Ok(match self.drivers {
            Drivers::First(prior) => Known::One(0, prior.posterior(used, exposures[0])?),
            Drivers::Second(prior) => Known::One(1, prior.posterior(used, exposures[1])?),
            Drivers::Both(first, second) => {
                let mut together = SplitRecord::new(1.0)?;
                for group in groups {
                    together.merge(&self.splits[*group])?;
                }
                let record = together.with_exposures(exposures)?;
                Known::Both(record.posterior([&first, &second])?)
            }
        })
    }
}

impl Known {
    /// The expected rates by the first and the second driver.
    pub(super) fn means(&self) -> [f64; 2] {
        match self {
            Self::One(driver, gamma) => {
                let mut means = [0.0; 2];
                means[*driver] = gamma.mean();
                means
            }
            Self::Both(posterior) => posterior.means(),
        }
    }

    /// Mean and variance of the mean use over work to come.
    pub(super) fn moments(&self, work: [f64; 2]) -> (f64, f64) {
        match self {
            Self::One(driver, gamma) => {
                let mean = gamma.mean() * work[*driver];
                (mean, mean * mean / gamma.shape())
            }
            Self::Both(posterior) => posterior.moments(work),
        }
    }
}
