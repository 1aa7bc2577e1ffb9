//! Cup numbers, and the bores that name them, since most cups carry no number. The seat, without
//! which a number names no part, is in [`part`](crate::part).

use std::fmt;

use thiserror::Error;

use super::decimal::{canonical, exact_multiple};
use super::marking::{LengthUnit, shortened, split_unit};
use super::spreadsheet::{self, Origin};

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

/// Bores in millimetres that are printed or read off a calliper for a number, beside the bore that
/// follows from the number (common practice). There is no tolerance: 7 mm is none of them.
const PRINTED_MM: [(u8, &[&str]); 8] = [
    (4, &["6", "6.5"]),
    (5, &["8"]),
    (6, &["9.5", "10"]),
    (7, &["11", "11.1"]),
    (8, &["12.5"]),
    (10, &["16"]),
    (11, &["17.5"]),
    (12, &["19"]),
];

/// Why a text names no cup.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseCupError {
    /// A number out of the range that is sold.
    #[error(transparent)]
    Number(#[from] CupNumberError),
    /// Neither a number nor a bore.
    #[error("{0}; a bare number is the number of the cup, such as 7")]
    Bore(#[from] CupBoreError),
}

/// Why a text is not the bore of a cup.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CupBoreError {
    /// Nothing but blanks.
    #[error("a bore is missing; measure it in mm or inches, such as 11 mm or 7/16 in")]
    Empty,
    /// A decimal comma, which is never guessed at.
    #[error("{value} has a decimal comma; write {hint}")]
    Comma {
        /// The text as given, shortened.
        value: String,
        /// The same with a full stop.
        hint: String,
    },
    /// A date, as spreadsheets make of a fraction.
    #[error(
        "{0} looks like a fraction turned into a date by the spreadsheet; write it with its unit, such as 7/16in"
    )]
    Date(String),
    /// A figure that no cup number is known by.
    #[error("{value} is not the bore of a cup number{}", nearest_words(.nearest))]
    Unknown {
        /// The text as given, shortened.
        value: String,
        /// The cup numbers next to it, where the text is a figure.
        nearest: Vec<CupNumber>,
    },
}

fn nearest_words(nearest: &[CupNumber]) -> String {
    let named = |cup: &CupNumber| format!("no. {cup} ({} mm, {} in)", cup.printed_mm(), cup.inch());
    match nearest {
        [] => "; measure it in mm or inches, such as 11 mm or 7/16 in".to_owned(),
        [one] => format!("; the nearest is {}; measure again", named(one)),
        [first, second, ..] => format!(
            "; the nearest are {} and {}; measure again, or give the number",
            named(first),
            named(second)
        ),
    }
}

impl CupNumber {
    /// Every cup number, smallest first.
    fn all() -> impl Iterator<Item = Self> {
        (3..=24).map(Self)
    }

    /// Reads a number (`7`, `no. 7`), or a bore with its unit as [`from_bore`](Self::from_bore) does.
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
    /// [`ParseCupError`]: a number outside 3 to 24, or no bore of a number.
    pub fn parse(text: &str) -> Result<Self, ParseCupError> {
        let plain = text.trim().to_ascii_lowercase();
        let prefixes = ["no.", "no", "#"];
        let bare = prefixes.iter().find_map(|it| plain.strip_prefix(it));
        match bare.unwrap_or(&plain).trim().parse::<i64>() {
            Ok(number) => Ok(Self::new(number)?),
            Err(_) => Ok(Self::from_bore(text)?),
        }
    }

    /// The number of a cup by its measured bore: `11`, `11.1 mm`, `7/16`, `7/16 in`, `0.4375 in`.
    ///
    /// A figure without a unit is millimetres, a fraction without a unit is inches. Only the bore
    /// that follows from a number, exactly or as printed to two decimals, and the printed figures of
    /// the trade are known; nothing is rounded to a number.
    ///
    /// ```
    /// use tigstock_domain::size::CupNumber;
    /// assert_eq!(CupNumber::from_bore("11.1 mm")?, CupNumber::from_bore("7/16")?);
    /// assert!(CupNumber::from_bore("11.2 mm").is_err());
    /// # Ok::<(), tigstock_domain::size::CupBoreError>(())
    /// ```
    ///
    /// # Errors
    /// [`CupBoreError`]: empty, a decimal comma, a date made of a fraction, or no bore of a number.
    pub fn from_bore(text: &str) -> Result<Self, CupBoreError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(CupBoreError::Empty);
        }
        let (figure, unit) = split_unit(text);
        let is_named = |cup: &Self| match unit {
            Some(LengthUnit::Inch) => cup.has_bore_inch(figure),
            None if figure.contains('/') => cup.has_bore_inch(figure),
            Some(LengthUnit::Millimetre) | None => cup.has_bore_mm(figure),
        };
        Self::all()
            .find(is_named)
            .ok_or_else(|| Self::refusal(text, figure, unit))
    }

    fn has_bore_mm(self, figure: &str) -> bool {
        let Some(figure) = canonical(figure) else {
            return false;
        };
        let printed = PRINTED_MM.iter().find(|(number, _)| *number == self.0);
        exact_multiple(&figure, 10_000) == Some(i64::from(self.0) * 15_875)
            || canonical(&self.printed_mm()) == Some(figure.clone())
            || printed.is_some_and(|(_, figures)| figures.contains(&&*figure))
    }

    fn has_bore_inch(self, figure: &str) -> bool {
        let words: Vec<&str> = figure.split_whitespace().collect();
        let plain = words.join(" ");
        plain == self.inch()
            || plain.replace(' ', "") == format!("{}/16", self.0)
            || plain.replace(" / ", "/") == self.inch()
            || exact_multiple(&plain, 16) == Some(i64::from(self.0))
    }

    /// The bore in millimetres as tables print it, to two decimals: `11.11`, `15.88`.
    fn printed_mm(self) -> String {
        // In hundredths: 158.75 times the number, halves rounded up.
        let hundredths = (i64::from(self.0) * 15_875 + 50) / 100;
        format!("{}.{:02}", hundredths / 100, hundredths % 100)
    }

    fn refusal(text: &str, figure: &str, unit: Option<LengthUnit>) -> CupBoreError {
        let value = shortened(text);
        if figure.contains(',') && canonical(&figure.replace(',', ".")).is_some() {
            let hint = text.replace(',', ".");
            return CupBoreError::Comma { value, hint };
        }
        if spreadsheet::origin(text) != Origin::NoDate {
            return CupBoreError::Date(value);
        }
        let sixteenths = canonical(figure).and_then(|figure| figure.parse::<f64>().ok());
        let nearest = sixteenths.map_or_else(Vec::new, |number| match unit {
            Some(LengthUnit::Inch) => neighbours(number * 16.0),
            Some(LengthUnit::Millimetre) | None => neighbours(number / 1.5875),
        });
        CupBoreError::Unknown { value, nearest }
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

/// The cup numbers on either side of a bore in sixteenths of an inch.
fn neighbours(sixteenths: f64) -> Vec<CupNumber> {
    let is_below = |cup: &CupNumber| f64::from(cup.0) < sixteenths;
    let below = CupNumber::all().take_while(is_below).last();
    let above = CupNumber::all().find(|cup| !is_below(cup));
    below.into_iter().chain(above).collect()
}

impl fmt::Display for CupNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}
