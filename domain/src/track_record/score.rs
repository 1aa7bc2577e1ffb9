//! How one forecast is judged by what was used, and what many such judgements say. Which forecasts are judged is
//! in the parent.

use crate::predictive::Law;
use crate::special::real;

/// The central ranges that are judged.
pub const RANGES: [f64; 3] = [0.5, 0.8, 0.9];

/// The chances whose quantiles are judged by their pinball loss.
pub const PINBALL_CHANCES: [f64; 3] = [0.5, 0.9, 0.95];

/// How many columns the picture of calibration has.
const COLUMNS: usize = 10;
const COLUMN: f64 = 0.1;

/// How often a central range held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeHeld {
    /// What it promises: 0.5, 0.8 or 0.9.
    pub promised: f64,
    /// The share of forecasts whose range of whole pieces held. It comes out above what is promised even if
    /// all is well, because a range of whole pieces holds more than it must.
    pub in_whole_pieces: f64,
    /// The share without that surplus, the figure to compare with what is promised.
    pub held: f64,
    /// The standard error that `held` has if the forecasts are calibrated, as if they did not overlap. It
    /// follows from the forecasts alone, since a handful that all held would seem to vary little.
    pub error: f64,
}

/// How the forecasts of a history did.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// How many forecasts were judged.
    pub forecasts: u32,
    /// How often the central ranges held, in the order of [`RANGES`].
    pub ranges: [RangeHeld; RANGES.len()],
    /// The share of what was used that fell in each tenth of its forecast, from the lowest; all are near 0.1 if
    /// the forecasts are calibrated. High ends mean ranges that are too narrow, a slope means a bias.
    pub calibration: [f64; COLUMNS],
    /// The mean pinball loss in pieces, in the order of [`PINBALL_CHANCES`]; less is better.
    pub pinball: [f64; PINBALL_CHANCES.len()],
}

/// What adds up to a score.
///
/// With F the forecast and y what was used, the probability transform is spread evenly over F(y-1) to F(y), the
/// step that y takes in F; a forecast's share of a range is the part of that step that lies in it (C. Czado, T.
/// Gneiting, L. Held, *Biometrics* 65, 2009). Its mean is what the range promises, however few pieces are used.
/// The pinball loss of a quantile q at chance p is p (y - q) above it and (1 - p) (q - y) below (R. Koenker,
/// G. Bassett, *Econometrica* 46, 1978).
#[derive(Debug, Default)]
pub(super) struct Tally {
    forecasts: u32,
    whole: [f64; RANGES.len()],
    held: [f64; RANGES.len()],
    /// What the shares vary by, if the forecasts are calibrated.
    variances: [f64; RANGES.len()],
    calibration: [f64; COLUMNS],
    pinball: [f64; PINBALL_CHANCES.len()],
}

impl Tally {
    pub(super) fn add(&mut self, law: &impl Law, used: u64) {
        self.forecasts = self.forecasts.saturating_add(1);
        let below = used.checked_sub(1).map_or(0.0, |fewer| law.cdf(fewer));
        let step = (below, law.cdf(used));
        for (place, range) in RANGES.into_iter().enumerate() {
            let (low, high) = ((1.0 - range) / 2.0, 1.0 - (1.0 - range) / 2.0);
            // Used is at or above the lower end where F(y) >= low, at or below the upper where F(y-1) < high.
            if step.1 >= low && step.0 < high {
                self.whole[place] += 1.0;
            }
            let share = share_within(step, low, high);
            self.held[place] += share;
            self.variances[place] += variance(law, (low, high));
        }
        let mut low = 0.0;
        for column in &mut self.calibration {
            *column += share_within(step, low, low + COLUMN);
            low += COLUMN;
        }
        let quantiles = law.quantiles(&PINBALL_CHANCES);
        for ((loss, p), quantile) in self.pinball.iter_mut().zip(PINBALL_CHANCES).zip(quantiles) {
            *loss += if used >= quantile {
                p * real(used - quantile)
            } else {
                (1.0 - p) * real(quantile - used)
            };
        }
    }

    /// The score; all shares are 0 without a forecast.
    pub(super) fn score(&self) -> Score {
        let forecasts = f64::from(self.forecasts.max(1));
        let ranges = std::array::from_fn(|place| {
            let held = self.held[place] / forecasts;
            RangeHeld {
                promised: RANGES[place],
                in_whole_pieces: self.whole[place] / forecasts,
                held,
                error: self.variances[place].sqrt() / forecasts,
            }
        });
        Score {
            forecasts: self.forecasts,
            ranges,
            calibration: self.calibration.map(|share| share / forecasts),
            pinball: self.pinball.map(|loss| loss / forecasts),
        }
    }
}

/// The variance of a forecast's share of the range between two chances, if what is used follows the forecast.
///
/// The share s has the mean of the range, and s^2 is s but where a step is cut by an end of the range: so the
/// variance is r - r^2 less the sum of P(y) s(1 - s) over the at most two numbers y that are cut.
fn variance(law: &impl Law, (low, high): (f64, f64)) -> f64 {
    let range = high - low;
    let mut cut = law.quantiles(&[low, high]);
    cut.dedup();
    let each = cut.into_iter().map(|used| {
        let below = used.checked_sub(1).map_or(0.0, |fewer| law.cdf(fewer));
        let step = (below, law.cdf(used));
        let share = share_within(step, low, high);
        (step.1 - step.0) * share * (1.0 - share)
    });
    (range * (1.0 - range) - each.sum::<f64>()).max(0.0)
}

/// The part of a step of the distribution that lies between two chances. A step without any height, where
/// something happened that was held impossible, lies at its place: the top.
fn share_within(step: (f64, f64), low: f64, high: f64) -> f64 {
    let height = step.1 - step.0;
    if height > 0.0 {
        ((step.1.min(high) - step.0.max(low)) / height).clamp(0.0, 1.0)
    } else if step.1 > low && step.1 <= high + 1e-12 {
        1.0
    } else {
        0.0
    }
}
