//! Whether it is likely that so little was logged: a part that stops work, of which no use is on record for a
//! long time though its torch ran, is either lucky or not logged. What is lucky is for chance to say; whether
//! it is logged, for a count.

use crate::wear::Gamma;

/// Below this chance of no use, nothing is said of a part but that it must be counted. Each time between two
/// uses is longer than that by chance once in a hundred times, so that is how often it is asked in vain
/// (product rule).
pub const CHANCE_LIMIT: f64 = 0.01;

/// In a shorter time than this, in days, one long day of work would say too much (product rule).
pub const DAYS_MIN: i64 = 14;

/// What one group of people did since the last use that is on record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Since {
    /// What was known of their wear rate until then.
    pub rate: Gamma,
    /// What they exposed the part to since then, in the unit of that rate; 0 or more.
    pub exposure: f64,
}

/// The chance that nothing was used since, by the rates that were known until then.
///
/// Use over an exposure E at a rate that is Gamma(a, b) is negative binomial, so the chance of none is
/// (b / (b + E))^a; groups are independent of each other, so theirs are multiplied. From 0 to 1; 1 where there
/// was no exposure.
///
/// ```
/// use tigstock_domain::silence::{Since, chance};
/// use tigstock_domain::wear::Gamma;
/// // 9 used in 410 arc hours on Gamma(1, 40), then 450 arc hours without any: (450 / 900)^10.
/// let rate = Gamma::new(1.0, 40.0)?.posterior(9, 410.0)?;
/// let since = Since { rate, exposure: 450.0 };
/// assert!((chance(&[since]) - 0.5_f64.powi(10)).abs() < 1e-15);
/// # Ok::<(), tigstock_domain::wear::GammaError>(())
/// ```
pub fn chance(groups: &[Since]) -> f64 {
    let each = groups.iter().map(|since| {
        let exposure = since.exposure.max(0.0);
        -since.rate.shape() * (exposure / since.rate.rate()).ln_1p()
    });
    each.sum::<f64>().exp()
}

/// Whether nothing can be said of a part of which no use was logged for so many days: that this is by chance is
/// too unlikely.
pub fn cannot_say(days: i64, groups: &[Since]) -> bool {
    days >= DAYS_MIN && chance(groups) < CHANCE_LIMIT
}

#[cfg(test)]
mod tests {
    use super::*;

    fn since(shape: f64, rate: f64, exposure: f64) -> Since {
        let rate = Gamma::new(shape, rate).expect("a rate");
        Since { rate, exposure }
    }

    #[test]
    fn what_is_hardly_ever_used_may_be_silent_for_long() {
        // 2 in 410 hours on Gamma(0.5, 100): a = 2.5, b = 510. After 100 hours (510/610)^2.5 = 0.639.
        let few = since(2.5, 510.0, 100.0);
        assert!(
            (chance(&[few]) - 0.639_15).abs() < 5e-5,
            "{}",
            chance(&[few])
        );
        assert!(!cannot_say(41, &[few]));
        // It takes b (100^(1/2.5) - 1) = 510 * 5.3096 = 2708 hours.
        assert!(!cannot_say(41, &[since(2.5, 510.0, 2_700.0)]));
        assert!(cannot_say(41, &[since(2.5, 510.0, 2_716.0)]));
    }

    #[test]
    fn what_is_used_all_the_time_is_missed_soon_but_not_within_two_weeks() {
        // 58 in 410 hours on Gamma(2, 20): a = 60, b = 430. After 40 hours (430/470)^60 = 0.0048.
        let many = since(60.0, 430.0, 40.0);
        assert!(
            (chance(&[many]) - 0.004_81).abs() < 5e-5,
            "{}",
            chance(&[many])
        );
        assert!(cannot_say(14, &[many]));
        assert!(!cannot_say(13, &[many]));
    }

    #[test]
    fn groups_are_silent_together() {
        let one = since(10.0, 100.0, 30.0);
        let both = chance(&[one, one]);
        assert!((both - chance(&[one]).powi(2)).abs() < 1e-15);
        assert!((chance(&[]) - 1.0).abs() < 1e-15);
        assert!((chance(&[since(10.0, 100.0, 0.0)]) - 1.0).abs() < 1e-15);
    }
}
