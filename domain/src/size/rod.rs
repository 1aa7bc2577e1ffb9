//! The length of a rod as delivered, exact to the micrometre.

use std::fmt;

use thiserror::Error;

use super::decimal;
use super::marking::{LengthUnit, shortened, split_unit};

/// The length of a rod as delivered, in whole micrometres, from 10 mm to 700 mm.
///
/// 7 in (177.8 mm) and 175 mm stay apart: they are the same for fit, not for length accounting.
///
/// ```
/// use tigstock_domain::size::RodLength;
/// assert_eq!(RodLength::parse("7 in")?.um(), 177_800);
/// assert_eq!(RodLength::parse("175mm")?.to_string(), "175 mm");
/// # Ok::<(), tigstock_domain::size::RodLengthError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RodLength(i64);

/// Why a text is not a rod length.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RodLengthError {
    /// Not a figure with a unit.
    #[error("{0} is not a length; write it with its unit, such as 150 mm or 7 in")]
    Unreadable(String),
    /// Shorter or longer than any rod that is sold or kept.
    #[error("a rod of {0} micrometres is outside 10 mm to 700 mm")]
    OutOfRange(i64),
}

impl RodLength {
    /// The shortest length, 10 mm in micrometres.
    pub const MIN_UM: i64 = 10_000;
    /// The longest length, 700 mm in micrometres.
    pub const MAX_UM: i64 = 700_000;

    /// A length of `um` micrometres.
    ///
    /// # Errors
    /// [`RodLengthError::OutOfRange`] outside 10 mm to 700 mm.
    pub fn from_um(um: i64) -> Result<Self, RodLengthError> {
        if (Self::MIN_UM..=Self::MAX_UM).contains(&um) {
            Ok(Self(um))
        } else {
            Err(RodLengthError::OutOfRange(um))
        }
    }

    /// Reads `150 mm`, `175mm`, `7 in`, `7in`; exact to the micrometre. The unit is required,
    /// because 7 without one may be either.
    ///
    /// # Errors
    /// [`RodLengthError`]: no unit, not a figure, finer than a micrometre, or out of range.
    pub fn parse(text: &str) -> Result<Self, RodLengthError> {
        let unreadable = || RodLengthError::Unreadable(shortened(text.trim()));
        let (figure, unit) = split_unit(text);
        let um_per_unit = match unit.ok_or_else(unreadable)? {
            LengthUnit::Millimetre => 1_000,
            LengthUnit::Inch => 25_400,
        };
        decimal::exact_multiple(figure, um_per_unit)
            .ok_or_else(unreadable)
            .and_then(Self::from_um)
    }

    /// The length in micrometres.
    pub fn um(self) -> i64 {
        self.0
    }
}

impl fmt::Display for RodLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.0 / 1000, self.0 % 1000);
        if part == 0 {
            write!(f, "{whole} mm")
        } else {
            write!(
                f,
                "{whole}.{} mm",
                format!("{part:03}").trim_end_matches('0')
            )
        }
    }
}
