//! How fast the use of a part changes and how uneven it is, learned from its own record. A model in which
//! both are given is in the parent.

use super::{Discounted, Unevenness};
use crate::predictive::{Mixture, NegativeBinomial, PredictiveError};
use crate::wear::Gamma;

/// The discounts that are tried.
const DISCOUNTS: [f64; 7] = [1.0, 0.98, 0.95, 0.9, 0.85, 0.8, 0.7];

/// The kinds of unevenness that are tried.
const KINDS: [Unevenness; 9] = [
    Unevenness::None,
    Unevenness::Clumps(1.5),
    Unevenness::Clumps(2.0),
    Unevenness::Clumps(3.0),
    Unevenness::Clumps(5.0),
    Unevenness::Swings(0.15),
    Unevenness::Swings(0.3),
    Unevenness::Swings(0.6),
    Unevenness::Swings(1.2),
];

/// How many models are tried: each discount with each kind of unevenness.
pub const CANDIDATES: usize = DISCOUNTS.len() * KINDS.len();

/// How much of the evidence for a model is kept from one period to the next.
const KEPT: f64 = 0.98;

/// A model with less than this share of the likeliest one's weight is left out of a forecast.
const NEGLIGIBLE: f64 = 1e-5;

/// What a record says of a part that has no exposure, by all the models that are tried.
///
/// Each model ([`Discounted`]) forecasts each period from those before it; its weight is how likely it found
/// what was used. The forecast is the mixture of all by their weights. The evidence for a model fades by 2 % a
/// period, so that a part whose use changes its ways is followed: dynamic model averaging, A. E. Raftery, M.
/// Kárný, P. Ettler, *Technometrics* 52, 2010.
///
/// The discounts are 1, 0.98, 0.95, 0.9, 0.85, 0.8 and 0.7, each with even use, clumps of 1.5, 2, 3 and 5
/// pieces, and swings of 0.15, 0.3, 0.6 and 1.2; all count alike at the start. The grid and the fading are the
/// project's own choice.
///
/// ```
/// use tigstock_domain::wear::{Gamma, discounted::ByCalendar};
/// let mut cups = ByCalendar::new(Gamma::new(0.5, 4.0)?);
/// for used in [0, 1, 0, 0, 2, 0, 0, 1] {
///     cups.observe(used, 1.0);
/// }
/// let four_weeks = cups.predictive(4, 4.0)?;
/// assert!(four_weeks.cdf(0) < four_weeks.cdf(3));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ByCalendar {
    models: Vec<Model>,
    periods: u32,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Model {
    known: Discounted,
    /// The logarithm of its weight, but for a constant that is common to all.
    evidence: f64,
}

/// The model that a record speaks for most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MostLikely {
    /// The discount with the most weight over all kinds of unevenness.
    pub discount: f64,
    /// That weight, from 0 to 1.
    pub weight: f64,
    /// The likeliest kind of unevenness with that discount.
    pub unevenness: Unevenness,
}

impl ByCalendar {
    /// A part without a record, on a starting assumption in pieces a period.
    pub fn new(assumed: Gamma) -> Self {
        let pairs = DISCOUNTS
            .iter()
            .flat_map(|discount| KINDS.iter().map(move |kind| (*discount, *kind)));
        let models = pairs.map(|(discount, kind)| Model {
            known: Discounted::written(assumed, discount, kind),
            evidence: 0.0,
        });
        Self {
            models: models.collect(),
            periods: 0,
        }
    }

    /// How many periods were taken in.
    pub fn periods(&self) -> u32 {
        self.periods
    }

    /// Takes in one more period, the oldest first, with its exposure, 1 for a normal one: see
    /// [`Discounted::observe`].
    pub fn observe(&mut self, used: u64, exposure: f64) {
        let mut most = f64::NEG_INFINITY;
        for Model { known, evidence } in &mut self.models {
            // An exposure out of range tells no model from another.
            let found = known
                .predictive(1, exposure)
                .map_or(0.0, |uses| uses.ln_pmf(used));
            *evidence = (KEPT * *evidence + found).max(-1e9);
            known.observe(used, exposure);
            most = most.max(*evidence);
        }
        for model in &mut self.models {
            model.evidence -= most;
        }
        self.periods = self.periods.saturating_add(1);
    }

    /// Expected use in a normal period to come, in pieces.
    pub fn mean(&self) -> f64 {
        let sum: f64 = self.weights().sum();
        let weighted = self.models.iter().zip(self.weights());
        weighted
            .map(|(model, weight)| model.known.mean() * weight / sum)
            .sum()
    }

    /// Use over so many periods to come, 1 to [`Discounted::PERIODS_MAX`], with that exposure in all: as many as
    /// there are periods, if they are normal ones.
    ///
    /// # Errors
    /// [`PredictiveError::Exposure`] for another number of periods, or an exposure outside 0 to 1e9.
    pub fn predictive(&self, periods: u32, exposure: f64) -> Result<Mixture, PredictiveError> {
        let each = self.models.iter().zip(self.weights());
        let each = each.filter(|(_, weight)| *weight >= NEGLIGIBLE);
        let components: Vec<(f64, NegativeBinomial)> = each
            .map(|(model, weight)| Ok((weight, model.known.predictive(periods, exposure)?)))
            .collect::<Result<_, PredictiveError>>()?;
        // The likeliest model has weight 1, so there is always one.
        Mixture::new(components).map_err(|_| PredictiveError::Exposure(exposure))
    }

    /// What the record speaks for most, to be told with a forecast; all alike without a record.
    pub fn most_likely(&self) -> MostLikely {
        let sum: f64 = self.weights().sum();
        let mut best = MostLikely {
            discount: 1.0,
            weight: 0.0,
            unevenness: Unevenness::None,
        };
        for models in self.models.chunks(KINDS.len()) {
            let weight = |model: &Model| model.evidence.exp() / sum;
            let together = models.iter().map(weight).sum();
            let most = models
                .iter()
                .max_by(|a, b| a.evidence.total_cmp(&b.evidence));
            if let Some(most) = most.filter(|_| together > best.weight) {
                best = MostLikely {
                    discount: most.known.discount(),
                    weight: together,
                    unevenness: most.known.unevenness(),
                };
            }
        }
        best
    }

    /// The weights of the models over that of the likeliest.
    fn weights(&self) -> impl Iterator<Item = f64> {
        self.models.iter().map(|model| model.evidence.exp())
    }
}
