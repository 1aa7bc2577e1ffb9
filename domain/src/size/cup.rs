//! Cup numbers. The seat, without which a number names no part, is in [`part`](crate::part).

use std::fmt;

use thiserror::Error;

use super::decimal::canonical;
use super::marking::{LengthUnit, shortened, split_unit};

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

/// Why a text names no cup.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseCupError {
    /// A number out of the range that is sold.
    #[error(transparent)]
    Number(#[from] CupNumberError),
    /// A bore that no table prints for a number, or no number at all.
    #[error("{0} names no cup; give its number, such as 7, or a bore as printed, such as 11 mm")]
    Unknown(String),
}

/// Bores in millimetres as tables print them, by cup number: the exact bore to one and two decimals,
/// and the rounded figures of two manuals (common practice). Named aliases; nothing in between counts.
const PRINTED_MM: [(u8, &[&str]); 8] = [
    (4, &["6", "6.35", "6.4", "6.5"]),
    (5, &["7.94", "7.9", "8"]),
    (6, &["9.5", "9.53", "10"]),
    (7, &["11", "11.1", "11.11"]),
    (8, &["12.5", "12.7"]),
    (10, &["15.88", "15.9", "16"]),
    (11, &["17.46", "17.5"]),
    (12, &["19", "19.05", "19.1"]),
];

impl CupNumber {
    /// Reads a number (`7`, `no. 7`, `#7`) or a bore as printed: `11 mm`, `7/16 in`.
    ///
    /// ```
    /// use tigstock_domain::size::CupNumber;
    /// let seven = CupNumber::new(7)?;
    /// for text in ["7", "no. 7", "11 mm", "11.1 mm", "7/16 in"] {
    ///     assert_eq!(CupNumber::parse(text), Ok(seven), "{text}");
    /// }
    /// assert!(CupNumber::parse("11.3 mm").is_err());
    /// # Ok::<(), tigstock_domain::size::CupNumberError>(())
    /// ```
    ///
    /// # Errors
    /// [`ParseCupError`]: a number outside 3 to 24, or a bore that no table prints.
    pub fn parse(text: &str) -> Result<Self, ParseCupError> {
        let unknown = || ParseCupError::Unknown(shortened(text.trim()));
        let (figure, unit) = split_unit(text);
        match unit {
            Some(LengthUnit::Millimetre) => {
                let figure = canonical(figure).ok_or_else(unknown)?;
                let printed = PRINTED_MM
                    .iter()
                    .find(|(_, mm)| mm.contains(&figure.as_str()));
                let (number, _) = printed.ok_or_else(unknown)?;
                Ok(Self::new(*number)?)
            }
            Some(LengthUnit::Inch) => (3_u8..=24)
                .filter_map(|number| Self::new(number).ok())
                .find(|cup| cup.inch() == figure)
                .ok_or_else(unknown),
            None => {
                let figure = figure.to_ascii_lowercase();
                let prefixes = ["no.", "no", "#"];
                let bare = prefixes.iter().find_map(|it| figure.strip_prefix(it));
                let number: i64 = bare
                    .unwrap_or(&figure)
                    .trim()
                    .parse()
                    .map_err(|_| unknown())?;
                Ok(Self::new(number)?)
            }
        }
    }

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
