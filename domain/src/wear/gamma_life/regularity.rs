//! Whether the lives of a part are more regular than chance, by its own record. What follows for its use is in the
//! parent.

use super::{GammaLife, LifeError, Lives, Position, worn};
use crate::special::{gamma, real};
use crate::wear::Gamma;

/// The shapes that are tried; the first is use at random.
pub const SHAPES: [f64; 9] = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0];

/// How many whole lives a record must have before it can speak for anything but chance.
pub const LIVES_MIN: u64 = 8;

/// How many times likelier than chance regular lives must make a record.
///
/// Ten times is strong evidence in the scale of H. Jeffreys, *Theory of Probability*; R. E. Kass, A. E. Raftery,
/// *Journal of the American Statistical Association* 90, 1995.
pub const BAYES_FACTOR_MIN: f64 = 10.0;

/// What a record says of how regular the lives of a part are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Regularity {
    /// There are fewer than [`LIVES_MIN`] whole lives, so use counts as random.
    TooFewLives {
        /// How many there are.
        whole: u64,
    },
    /// The record does not speak for regular lives, so use counts as random.
    NotSupported {
        /// How many times likelier regular lives make it.
        bayes_factor: f64,
    },
    /// The lives are more regular than chance.
    Learned {
        /// The shape of the lives, above 1.
        shape: f64,
        /// How many times likelier regular lives make the record.
        bayes_factor: f64,
    },
}

impl Regularity {
    /// What a record says: the lives that ended, and the parts that are in use and have not (their exposure to come
    /// does not matter here).
    ///
    /// Each shape has a marginal likelihood, the rate integrated out. Chance stands against the mean of the other
    /// shapes, all alike; where that is at least [`BAYES_FACTOR_MIN`] times as likely, the likeliest shape is used.
    ///
    /// # Errors
    /// [`LifeError`] where what is known goes out of range.
    pub fn of(assumed: &Gamma, lives: &Lives, in_use: &[Position]) -> Result<Self, LifeError> {
        if lives.whole < LIVES_MIN {
            return Ok(Self::TooFewLives { whole: lives.whole });
        }
        let mut found = [0.0; SHAPES.len()];
        for (likelihood, shape) in found.iter_mut().zip(SHAPES) {
            *likelihood = ln_likelihood(shape, assumed, lives, in_use)?;
        }
        let random = found[0];
        let others = found.iter().zip(SHAPES).skip(1);
        let sum: f64 = others
            .clone()
            .map(|(likelihood, _)| (likelihood - random).min(700.0).exp())
            .sum();
        let bayes_factor = sum / real(u64::try_from(SHAPES.len() - 1).unwrap_or(1));
        let best = others.max_by(|a, b| a.0.total_cmp(b.0));
        Ok(match best {
            Some((_, shape)) if bayes_factor >= BAYES_FACTOR_MIN => Self::Learned {
                shape,
                bayes_factor,
            },
            _ => Self::NotSupported { bayes_factor },
        })
    }

    /// The shape to go by: 1 unless another one is learned.
    pub fn shape(self) -> f64 {
        match self {
            Self::Learned { shape, .. } => shape,
            Self::TooFewLives { .. } | Self::NotSupported { .. } => SHAPES[0],
        }
    }

    /// A sentence for the reader of a forecast.
    pub fn sentence(self) -> String {
        match self {
            Self::TooFewLives { whole } => format!(
                "Use counts as random: {whole} whole lives are on record, and {LIVES_MIN} are needed to learn more."
            ),
            Self::NotSupported { .. } => {
                "Use counts as random: the lives on record are not more regular than that."
                    .to_owned()
            }
            Self::Learned { shape, .. } => format!(
                "These wear out rather than fail at random: a life varies by about {:.0} %.",
                100.0 / shape.sqrt()
            ),
        }
    }
}

impl GammaLife {
    /// Lives of the shape that the record speaks for.
    ///
    /// # Errors
    /// [`LifeError`] where what is known goes out of range.
    pub fn learned(
        assumed: &Gamma,
        lives: &Lives,
        in_use: &[Position],
    ) -> Result<(Self, Regularity), LifeError> {
        let regularity = Regularity::of(assumed, lives, in_use)?;
        Ok((Self::new(regularity.shape(), assumed, lives)?, regularity))
    }
}

/// The logarithm of the marginal likelihood of a record at a shape k:
///
/// `(k-1) S - n ln G(k) + ln G(k (a0+n)) - ln G(k a0) + k a0 ln b0 - k (a0+n) ln(b0+E) + ln E(prod Q(k, r c))`
///
/// with S the sum of the logarithms of the n lives, and the last term over the parts of age c that are in use, at the
/// rate r as it is known after the whole lives.
pub(super) fn ln_likelihood(
    shape: f64,
    assumed: &Gamma,
    lives: &Lives,
    in_use: &[Position],
) -> Result<f64, LifeError> {
    let (n, known) = (
        real(lives.whole),
        GammaLife::new(shape, assumed, lives)?.known,
    );
    let start = shape * assumed.shape();
    let whole = (shape - 1.0) * lives.ln_sum - n * libm::lgamma(shape)
        + libm::lgamma(known.shape())
        - libm::lgamma(start)
        + start * assumed.rate().ln()
        - known.shape() * known.rate().ln();
    let lasted: f64 = worn::weighed(shape, &known, &[])
        .into_iter()
        .map(|(rate, weight)| {
            let each = in_use
                .iter()
                .map(|part| gamma::upper(shape, rate * part.age));
            weight * each.product::<f64>()
        })
        .sum();
    Ok(whole + lasted.max(f64::MIN_POSITIVE).ln())
}
