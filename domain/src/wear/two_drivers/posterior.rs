//! What is known of two rates after a record, exactly but for a quadrature over one number: the
//! split of the use between the drivers. The most likely pair is in `fit`.

use std::f64::consts::PI;

use super::{Cell, TwoDriverError, check, in_range};
use crate::predictive::{Mixture, NegativeBinomial};
use crate::special::real;
use crate::wear::Gamma;

/// Places of the split at which the likelihood is kept.
const NODES: usize = 97;

/// Their distance in the variable of the quadrature, and how far they reach on either side.
const STEP: f64 = 2.0 * REACH / 96.0;
const REACH: f64 = 3.2;

/// Nodes of less than this share of the heaviest are left out.
const NEGLIGIBLE: f64 = 1e-10;

/// What a record says of the split of use between two drivers, in a fixed number of figures however
/// long the record is.
///
/// With a = l s and b = l (1 - s) / r, where r is the usual ratio of the second exposure to the
/// first, the likelihood is, for a given split s, that of one Poisson rate l over the exposure
/// s x first + (1 - s) x second / r: gamma in l, and a product over the cells with use in s. The
/// logarithm of that product is kept at fixed places of s, so that adding a cell costs the same
/// after ten years as after a day. Factors of a whole cell (a clumsier group) only scale it, so
/// exposures may be given without them and the sums replaced later.
#[derive(Debug, Clone, PartialEq)]
pub struct SplitRecord {
    ratio: f64,
    exposures: [f64; 2],
    events: u64,
    ln: Vec<f64>,
}

/// The two shares at a place t: s = 1 / (1 + exp(-pi sinh t)) and 1 - s, both to full accuracy.
fn shares(t: f64) -> [f64; 2] {
    let x = PI * t.sinh();
    [1.0 / (1.0 + (-x).exp()), 1.0 / (1.0 + x.exp())]
}

/// The place of a node.
fn place(node: usize) -> f64 {
    STEP * f64::from(u32::try_from(node).unwrap_or(0)) - REACH
}

impl SplitRecord {
    /// An empty record. `ratio` is about how many units of the second driver go with one of the
    /// first (grinds in an arc hour); it is a matter of accuracy only, and a factor of ten is
    /// harmless.
    ///
    /// # Errors
    /// [`TwoDriverError::Ratio`] outside 1e-9 to 1e9.
    pub fn new(ratio: f64) -> Result<Self, TwoDriverError> {
        if !(1e-9..=1e9).contains(&ratio) {
            return Err(TwoDriverError::Ratio(ratio));
        }
        Ok(Self {
            ratio,
            exposures: [0.0; 2],
            events: 0,
            ln: vec![0.0; NODES],
        })
    }

    /// Adds a cell.
    ///
    /// # Errors
    /// [`TwoDriverError`]: an exposure that is none, or pieces used without any exposure.
    pub fn add(&mut self, cell: Cell) -> Result<(), TwoDriverError> {
        check(&cell)?;
        self.exposures[0] += cell.first;
        self.exposures[1] += cell.second;
        if cell.events > 0 {
            self.events += cell.events;
            for (node, ln) in self.ln.iter_mut().enumerate() {
                let [share, rest] = shares(place(node));
                let mean = share * cell.first + rest * cell.second / self.ratio;
                *ln += real(cell.events) * mean.max(f64::MIN_POSITIVE).ln();
            }
        }
        Ok(())
    }

    /// Adds another record to this one.
    ///
    /// # Errors
    /// [`TwoDriverError::Ratio`] if the other was made for another ratio.
    pub fn merge(&mut self, other: &Self) -> Result<(), TwoDriverError> {
        if self.ratio.to_bits() != other.ratio.to_bits() {
            return Err(TwoDriverError::Ratio(other.ratio));
        }
        self.events += other.events;
        for (sum, exposure) in self.exposures.iter_mut().zip(other.exposures) {
            *sum += exposure;
        }
        for (sum, ln) in self.ln.iter_mut().zip(&other.ln) {
            *sum += ln;
        }
        Ok(())
    }

    /// Pieces used.
    pub fn events(&self) -> u64 {
        self.events
    }

    /// The sums of exposure to the first and the second driver.
    pub fn exposures(&self) -> [f64; 2] {
        self.exposures
    }

    /// The same use with these sums of exposure, for cells that were given without the factors of
    /// their groups. Each cell must have been scaled as a whole.
    ///
    /// # Errors
    /// [`TwoDriverError::Exposure`] for a sum outside 0 to 1e9.
    pub fn with_exposures(&self, exposures: [f64; 2]) -> Result<Self, TwoDriverError> {
        in_range(exposures)?;
        Ok(Self {
            exposures,
            ..self.clone()
        })
    }

    /// What is known of the rates after this record, from independent gamma priors.
    ///
    /// # Errors
    /// [`TwoDriverError::Shape`] for a prior of a shape below 0.5; [`TwoDriverError::Rate`] for
    /// sums beyond the range of a wear rate.
    pub fn posterior(&self, priors: [&Gamma; 2]) -> Result<Posterior, TwoDriverError> {
        if let Some(prior) = priors.iter().find(|prior| prior.shape() < 0.5) {
            return Err(TwoDriverError::Shape(prior.shape()));
        }
        Posterior::of(self, priors)
    }

    /// ln of the product over cells at any place, by cubic interpolation: Lagrange's form through
    /// two nodes on either side, at the places 0 to 3.
    fn ln_at(&self, t: f64) -> f64 {
        let mut windows = self.ln.windows(4).enumerate();
        let last = NODES - 4;
        let near = windows.find(|(first, _)| *first == last || t <= place(first + 2));
        let Some((first, &[l0, l1, l2, l3])) = near else {
            return f64::NEG_INFINITY;
        };
        let x = (t - place(first)) / STEP;
        let outer = l3 * x * (x - 1.0) * (x - 2.0) - l0 * (x - 1.0) * (x - 2.0) * (x - 3.0);
        let inner = l1 * x * (x - 2.0) * (x - 3.0) - l2 * x * (x - 1.0) * (x - 3.0);
        outer / 6.0 + inner / 2.0
    }
}

/// One place of the split: its chance, and what is known of the rates there.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Node {
    weight: f64,
    /// The parts of the first and of the second rate in l.
    parts: [f64; 2],
    /// The rate b of l, whose shape is the same at all nodes.
    over: f64,
}

/// What is known of the rates of two drivers.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    shape: f64,
    nodes: Vec<Node>,
    /// Each rate on its own, where the record has no exposure to the other driver.
    alone: [Option<Gamma>; 2],
}

impl Posterior {
    /// Double exponential quadrature over the split (Takahasi and Mori, *Publications of the RIMS*
    /// 9, 1974), between finer nodes if the record is so long that only a few carry weight.
    fn of(record: &SplitRecord, priors: [&Gamma; 2]) -> Result<Self, TwoDriverError> {
        let [first, second] = priors;
        let over = [
            first.rate() + record.exposures[0],
            (second.rate() + record.exposures[1]) / record.ratio,
        ];
        let shape = first.shape() + second.shape() + real(record.events);
        Gamma::new(shape, over[0].min(over[1]))?;
        Gamma::new(shape, over[0].max(over[1]))?;
        let ln_weight = |t: f64, ln: f64| {
            let [share, rest] = shares(t);
            let over = share * over[0] + rest * over[1];
            // ds = s (1 - s) pi cosh t dt, and priors with the Jacobian have powers shape - 1.
            first.shape() * share.ln() + second.shape() * rest.ln() + t.cosh().ln() + ln
                - shape * over.ln()
        };
        let coarse: Vec<(f64, f64)> = record
            .ln
            .iter()
            .enumerate()
            .map(|(node, ln)| (place(node), ln_weight(place(node), *ln)))
            .collect();
        let kept = heavy(&coarse);
        let places = if kept.len() >= 12 {
            kept
        } else {
            let (from, to) = around(&kept);
            let fine = (0..=96).map(|k| {
                let t = from + (to - from) * f64::from(k) / 96.0;
                (t, ln_weight(t, record.ln_at(t)))
            });
            heavy(&fine.collect::<Vec<_>>())
        };
        let total: f64 = places.iter().map(|(_, weight)| weight).sum();
        let node = |(t, weight): (f64, f64)| {
            let [share, rest] = shares(t);
            Node {
                weight: weight / total,
                parts: [share, rest / record.ratio],
                over: share * over[0] + rest * over[1],
            }
        };
        let own = |driver: usize| {
            let none = record.exposures[1 - driver] <= 0.0;
            let all =
                none.then(|| priors[driver].posterior(record.events, record.exposures[driver]));
            all.transpose()
        };
        Ok(Self {
            shape,
            nodes: places.into_iter().map(node).collect(),
            alone: [own(0)?, own(1)?],
        })
    }

    /// The expected rates, in pieces per unit of the first and of the second driver.
    pub fn means(&self) -> [f64; 2] {
        [0, 1].map(|driver| self.expect(|node| self.shape * node.parts[driver] / node.over))
    }

    /// The covariance of the two rates.
    pub fn covariance(&self) -> [[f64; 2]; 2] {
        let means = self.means();
        [0, 1].map(|i| {
            [0, 1].map(|j| {
                let product = self.expect(|node| {
                    let scale = node.over * node.over;
                    self.shape * (self.shape + 1.0) * node.parts[i] * node.parts[j] / scale
                });
                product - means[i] * means[j]
            })
        })
    }

    fn expect(&self, value: impl Fn(&Node) -> f64) -> f64 {
        self.nodes
            .iter()
            .map(|node| node.weight * value(node))
            .sum()
    }

    /// Mean and variance of the mean use a x first + b x second over work to come.
    pub fn moments(&self, work: [f64; 2]) -> (f64, f64) {
        if let Some((gamma, exposure)) = self.single(work) {
            let mean = gamma.mean() * exposure;
            return (mean, mean * exposure / gamma.rate());
        }
        let ahead = |node: &Node| (node.parts[0] * work[0] + node.parts[1] * work[1]) / node.over;
        let mean = self.shape * self.expect(ahead);
        let square = self.shape * (self.shape + 1.0) * self.expect(|node| ahead(node).powi(2));
        (mean, (square - mean * mean).max(0.0))
    }

    /// Pieces used over work to come, exact but for the quadrature: a mixture of negative binomials,
    /// one for each place of the split.
    ///
    /// Where only one driver has exposure, in the record and to come, it is the plain Gamma-Poisson
    /// predictive.
    ///
    /// # Errors
    /// [`TwoDriverError::Exposure`] outside 0 to 1e9.
    pub fn mixture(&self, work: [f64; 2]) -> Result<Mixture, TwoDriverError> {
        in_range(work)?;
        if let Some((gamma, exposure)) = self.single(work) {
            return Ok(gamma.predictive(exposure)?.into());
        }
        let component = |node: &Node| {
            let ahead = node.parts[0] * work[0] + node.parts[1] * work[1];
            let uses = NegativeBinomial::new(self.shape, node.over, ahead)?;
            Ok((node.weight, uses))
        };
        let components: Result<Vec<_>, TwoDriverError> = self.nodes.iter().map(component).collect();
        Ok(Mixture::new(components?)?)
    }

    /// The same as one negative binomial: a gamma rate with the mean and the variance of
    /// a x first + b x second in the place of the exact law of it.
    ///
    /// Means and variances of use are exact. Probabilities differ from [`mixture`](Self::mixture)
    /// by what the third moment of the mean use does; over a short record, the hardest case, no
    /// probability was more than 0.004 off the exact one. Where only
    /// one driver has exposure it is the plain Gamma-Poisson predictive.
    ///
    /// # Errors
    /// [`TwoDriverError`] for exposures outside 0 to 1e9, or a rate out of range.
    pub fn predictive(&self, work: [f64; 2]) -> Result<NegativeBinomial, TwoDriverError> {
        in_range(work)?;
        if let Some((gamma, exposure)) = self.single(work) {
            return Ok(gamma.predictive(exposure)?);
        }
        let (mean, variance) = self.moments(work);
        if mean <= 0.0 {
            return Ok(NegativeBinomial::new(self.shape, 1.0, 0.0)?);
        }
        Ok(NegativeBinomial::new(
            mean * mean / variance,
            1.0,
            variance / mean,
        )?)
    }

    /// The one rate that matters, if the other driver has no exposure in the record or to come.
    fn single(&self, work: [f64; 2]) -> Option<(Gamma, f64)> {
        [0, 1].into_iter().find_map(|driver| {
            let gamma = self.alone[driver].filter(|_| work[1 - driver] <= 0.0)?;
            Some((gamma, work[driver]))
        })
    }
}

/// The nodes that carry weight, relative to the heaviest.
fn heavy(nodes: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let most = nodes
        .iter()
        .map(|(_, ln)| *ln)
        .fold(f64::NEG_INFINITY, f64::max);
    nodes
        .iter()
        .map(|(t, ln)| (*t, (ln - most).exp()))
        .filter(|(_, weight)| *weight > NEGLIGIBLE)
        .collect()
}

/// The stretch that these nodes and one more on either side cover.
fn around(nodes: &[(f64, f64)]) -> (f64, f64) {
    let from = nodes.first().map_or(-REACH, |(t, _)| t - STEP);
    let to = nodes.last().map_or(REACH, |(t, _)| t + STEP);
    (from.max(-REACH), to.min(REACH))
}
