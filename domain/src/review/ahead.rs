//! Use to come, as known on one evening: of each part over the next days, and over a lead time that
//! is not certain. What is known of the shop is in the parent.

use super::part::{Known, Part};
use super::{ReviewError, Shop};
use crate::pace::Pace;
use crate::predictive::{Mixture, NegativeBinomial};
use crate::wear::Gamma;
use crate::wear::factors::{Factor, Factors};

/// What a plan of the next days will use of every part.
#[derive(Debug, Clone)]
pub struct Ahead {
    /// For each part and each number of days, mean and variance of the mean use.
    moments: Vec<Vec<(f64, f64)>>,
    /// For each number of days, what is done of what is planned, with its chance.
    ratios: Vec<Vec<(f64, f64)>>,
    /// For each part, what its rates were learned from.
    rates: Vec<Vec<Rates>>,
    /// By group.
    paces: Vec<f64>,
}

/// What is known of the rates of a part in some groups, and from what.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// The groups, from 0: all those whose factors are known, or one that is kept apart.
    pub groups: Vec<usize>,
    /// Pieces they used.
    pub used: u64,
    /// What they used them over by each driver; effective exposure where factors are known.
    pub exposures: [f64; 2],
    /// The expected rates by each driver, in pieces per unit.
    pub means: [f64; 2],
    /// The law of the rate, if there is one driver.
    pub one: Option<Gamma>,
}

impl Rates {
    fn new(known: &Known, part: &Part, groups: &[usize], exposures: [f64; 2]) -> Self {
        Self {
            groups: groups.to_vec(),
            used: groups.iter().map(|group| part.used()[*group]).sum(),
            exposures,
            means: known.means(),
            one: match known {
                Known::One(_, gamma) => Some(*gamma),
                Known::Both(_) => None,
            },
        }
    }
}

/// Work to come over some days in one group, in effective exposure where its factor is known.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    work: [f64; 2],
    /// Of the factor.
    factor_variance: f64,
    /// Of the pace of the second driver, relative.
    pace_variance: f64,
}

impl Ahead {
    pub(super) fn new(
        shop: &Shop,
        factors: &Factors,
        plan: &[Vec<f64>],
    ) -> Result<Self, ReviewError> {
        let groups = shop.exposures.len();
        let (joined, apart): (Vec<usize>, Vec<usize>) =
            (0..groups).partition(|group| factors.product(&[*group]).is_some());
        let mut effective = [0.0; 2];
        for group in &joined {
            let factor = factors.product(&[*group]).unwrap_or(1.0);
            for (sum, exposure) in effective.iter_mut().zip(shop.exposures[*group]) {
                *sum += factor * exposure;
            }
        }
        let stretches = stretches(shop, factors, plan);
        let ratios = (1_u32..).take(plan.len()).map(|days| {
            let kept = shop.kept_plan();
            kept.map_or_else(|| vec![(1.0, 1.0)], |kept| kept.ratios(days))
        });
        let ratios = ratios.collect();
        let mut moments = Vec::with_capacity(shop.parts.len());
        let mut rates = Vec::with_capacity(shop.parts.len());
        for part in &shop.parts {
            let together = part.known(&joined, effective)?;
            let mut own = Vec::new();
            let mut told = vec![Rates::new(&together, part, &joined, effective)];
            for group in &apart {
                let (these, exposures) = ([*group], shop.exposures[*group]);
                let known = part.known(&these, exposures)?;
                told.push(Rates::new(&known, part, &these, exposures));
                own.push((*group, known));
            }
            told.retain(|rates| !rates.groups.is_empty());
            rates.push(told);
            let over = |stretch: &Vec<Stretch>| {
                let (mut mean, mut variance) = of_joined(&together, stretch, &joined);
                for (group, known) in &own {
                    let (m, v) = known.moments(stretch[*group].work);
                    mean += m;
                    variance += v;
                }
                (mean, variance)
            };
            moments.push(stretches.iter().map(over).collect());
        }
        Ok(Self {
            moments,
            ratios,
            rates,
            paces: shop.paces.iter().map(Pace::mean).collect(),
        })
    }

    /// The same, of a plan that is kept to the hour.
    pub(super) fn without_spread(mut self) -> Self {
        for ratios in &mut self.ratios {
            *ratios = vec![(1.0, 1.0)];
        }
        self
    }

    /// Expected use of a part over the next `days` days, in pieces.
    ///
    /// # Errors
    /// [`ReviewError`] for a part that is not there or days that are not planned.
    pub fn mean(&self, part: usize, days: usize) -> Result<f64, ReviewError> {
        let (mean, _) = self.at(part, days)?;
        let kept = self.kept(days).iter().map(|(ratio, chance)| ratio * chance);
        Ok(mean * kept.sum::<f64>())
    }

    /// Use of a part over the next `days` days: a mixture over how the plan may be kept, each a
    /// negative binomial whose gamma law has the mean and the variance that follow from what is
    /// known of the rates, the factors and the pace.
    ///
    /// # Errors
    /// [`ReviewError`] for a part that is not there or days that are not planned.
    pub fn over(&self, part: usize, days: usize) -> Result<Mixture, ReviewError> {
        let (mean, variance) = self.at(part, days)?;
        if mean <= 0.0 || variance <= 0.0 {
            // Nothing is worked, so nothing is used.
            return Ok(NegativeBinomial::new(1.0, 1.0, 0.0)?.into());
        }
        let size = (mean * mean / variance).min(Gamma::MAX);
        let mut components = Vec::new();
        for (ratio, chance) in self.kept(days) {
            let uses = NegativeBinomial::new(size, 1.0, ratio * mean / size)?;
            components.push((*chance, uses));
        }
        Ok(Mixture::new(components)?)
    }

    /// Use of a part until what is ordered this evening is there and the next evening's order could
    /// be: over each possible number of days with its chance. Its quantile is the order point.
    ///
    /// # Errors
    /// [`ReviewError`] for a part that is not there, days that are not planned, or no chances.
    pub fn over_lead_time(
        &self,
        part: usize,
        days: impl IntoIterator<Item = (usize, f64)>,
    ) -> Result<Mixture, ReviewError> {
        let mut cases = Vec::new();
        for (days, chance) in days {
            cases.push((chance, self.over(part, days)?));
        }
        Ok(Mixture::mixed(cases)?)
    }

    /// Units of the second driver for each of the first, by group, as expected.
    pub fn paces(&self) -> &[f64] {
        &self.paces
    }

    /// What is known of the rates of a part: of the groups whose factors are known, then of each that is kept
    /// apart; nothing for a part that is not there.
    pub fn rates(&self, part: usize) -> &[Rates] {
        self.rates.get(part).map_or(&[], Vec::as_slice)
    }

    /// What is done of what is planned for the next `days` days, with its chance; nothing for days that are
    /// not planned.
    pub fn kept(&self, days: usize) -> &[(f64, f64)] {
        let of_days = days.checked_sub(1).and_then(|index| self.ratios.get(index));
        of_days.map_or(&[], Vec::as_slice)
    }

    fn at(&self, part: usize, days: usize) -> Result<(f64, f64), ReviewError> {
        let of_part = self.moments.get(part).ok_or(ReviewError::Part(part))?;
        let Some(index) = days.checked_sub(1) else {
            return Ok((0.0, 0.0));
        };
        of_part.get(index).copied().ok_or(ReviewError::Horizon {
            asked: days,
            planned: of_part.len(),
        })
    }
}

/// The work of each group over the first day of the plan, the first two, and so on.
fn stretches(shop: &Shop, factors: &Factors, plan: &[Vec<f64>]) -> Vec<Vec<Stretch>> {
    let mut sums = vec![0.0; shop.exposures.len()];
    let mut all = Vec::with_capacity(plan.len());
    for day in plan {
        let mut of_day = Vec::with_capacity(sums.len());
        for (group, (sum, hours)) in sums.iter_mut().zip(day).enumerate() {
            *sum += hours;
            let pace = &shop.paces[group];
            let (mean, known) = (pace.mean(), factors.of(0, group));
            let factor = known.and_then(Factor::get).unwrap_or(1.0);
            of_day.push(Stretch {
                work: [factor * *sum, factor * *sum * mean],
                factor_variance: known.map_or(0.0, Factor::relative_variance),
                pace_variance: pace.variance() / (mean * mean).max(f64::MIN_POSITIVE),
            });
        }
        all.push(of_day);
    }
    all
}

/// Mean and variance of the mean use in the groups whose factors are known, together. The
/// uncertainty of rates is shared by all groups, that of factors and paces is each group's own.
fn of_joined(known: &Known, stretch: &[Stretch], joined: &[usize]) -> (f64, f64) {
    let mut work = [0.0; 2];
    let mut own = 0.0;
    let [first, second] = known.means();
    for group in joined {
        let of_group = &stretch[*group];
        work[0] += of_group.work[0];
        work[1] += of_group.work[1];
        let ground = second * of_group.work[1];
        let used = first * of_group.work[0] + ground;
        own += of_group.factor_variance * used * used + of_group.pace_variance * ground * ground;
    }
    let (mean, variance) = known.moments(work);
    (mean, variance + own)
}
