//! What sort of use a part has: how often, and how much it varies when it comes. Forecasts are in the
//! parent.

use super::used;
use crate::named::named;
use crate::special::real;

/// The mean interval above which use is now and then, in periods.
const INTERVAL_CUT: f64 = 1.32;
/// The squared coefficient of variation above which sizes vary much.
const VARIATION_CUT: f64 = 0.49;

named! {
    /// The four sorts of use.
    PatternKind, "pattern of use" {
        /// Often, and much the same each time.
        Smooth = "smooth",
        /// Often, and very different.
        Erratic = "erratic",
        /// Now and then, and much the same each time.
        Intermittent = "intermittent",
        /// Now and then, and very different.
        Lumpy = "lumpy",
    }
}

/// What sort of use a record shows, with the two figures that say so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pattern {
    /// The mean interval between uses: periods over periods with use, from 1 up.
    pub interval: f64,
    /// The squared coefficient of variation of what was used, where there was use: the variance over all of
    /// them (not one less) over the squared mean.
    pub squared_variation: f64,
    /// What follows from both.
    pub kind: PatternKind,
}

/// What sort of use a record shows; none if there was no use.
///
/// The cuts are a mean interval of 1.32 periods and a squared coefficient of variation of 0.49; what is
/// exactly at a cut belongs below it. A. A. Syntetos, J. E. Boylan, J. D. Croston, *Journal of the Operational
/// Research Society* 56, 2005.
///
/// ```
/// use tigstock_domain::intermittent::{PatternKind, pattern};
/// let found = pattern(&[0.0, 1.0, 0.0, 1.0]).ok_or("no use")?;
/// assert_eq!((found.interval, found.squared_variation), (2.0, 0.0));
/// assert_eq!(found.kind, PatternKind::Intermittent);
/// # Ok::<(), &str>(())
/// ```
pub fn pattern(record: &[f64]) -> Option<Pattern> {
    let count = |number: usize| real(u64::try_from(number).unwrap_or(u64::MAX));
    let sizes = || record.iter().filter_map(|figure| used(*figure));
    let uses = count(sizes().count());
    if uses < 1.0 {
        return None;
    }
    let mean = sizes().sum::<f64>() / uses;
    let interval = count(record.len()) / uses;
    let squared_variation = sizes().map(|size| (size / mean - 1.0).powi(2)).sum::<f64>() / uses;
    let kind = match (interval <= INTERVAL_CUT, squared_variation <= VARIATION_CUT) {
        (true, true) => PatternKind::Smooth,
        (true, false) => PatternKind::Erratic,
        (false, true) => PatternKind::Intermittent,
        (false, false) => PatternKind::Lumpy,
    };
    Some(Pattern {
        interval,
        squared_variation,
        kind,
    })
}
