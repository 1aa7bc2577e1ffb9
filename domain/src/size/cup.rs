//! Cup numbers. The seat, without which a number names no part, is in [`part`](crate::part).

use std::fmt;

use thiserror::Error;

/// A cup number: the bore in sixteenths of an inch (common practice).
///
/// The number says nothing of the seat: a no. 7 cup for a collet body and a no. 7 cup for a gas
/// lens are different parts.
///
/// ```
/// use tigstock_domain::size::CupNumber;
/// let cup = CupNumber::new(7)?;
/// assert_eq!(cup.inch(), "7/16");
/// assert_eq!(cup.bore_um(), 11_113); // 11.1125 mm, halves rounded up
/// # Ok::<(), tigstock_domain::size::CupNumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CupNumber(u8);

/// A cup number out of the range that is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("cup no. {0} is not known; cup numbers run from 3 to 24")]
pub struct CupNumberError(
    /// The number given.
    pub i64,
);

impl CupNumber {
    /// A cup number from 3 to 24. Usual ones are 4 to 12; above 12 a number may be nominal only
    /// (from memory).
    ///
    /// # Errors
    /// [`CupNumberError`] outside that range.
    pub fn new(number: impl Into<i64>) -> Result<Self, CupNumberError> {
        let number = number.into();
        match u8::try_from(number) {
            Ok(small @ 3..=24) => Ok(Self(small)),
            Ok(_) | Err(_) => Err(CupNumberError(number)),
        }
    }

    /// The number itself.
    pub fn get(self) -> u8 {
        self.0
    }

    /// The bore in micrometres: number x 1587.5, halves rounded up.
    pub fn bore_um(self) -> i64 {
        (i64::from(self.0) * 15_875 + 5) / 10
    }

    /// The bore in inches as a reduced fraction: `7/16`, `1/2`, `1 1/4`.
    pub fn inch(self) -> String {
        let (whole, mut over, mut under) = (self.0 / 16, self.0 % 16, 16);
        while over > 0 && over.is_multiple_of(2) {
            over /= 2;
            under /= 2;
        }
        match (whole, over) {
            (0, _) => format!("{over}/{under}"),
            (_, 0) => whole.to_string(),
            (_, _) => format!("{whole} {over}/{under}"),
        }
    }
}

impl fmt::Display for CupNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}
