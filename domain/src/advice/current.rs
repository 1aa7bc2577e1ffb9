//! The current of an arc and how it flows: amperes, polarity, wave, and the groups of classes that
//! the published tables tell apart. What current suits what electrode is in `tables`.

use std::fmt;

use thiserror::Error;

use super::judge::Position;
use crate::class::ElectrodeClass;
use crate::named::named;

named! {
    /// The polarity of the electrode.
    Polarity, "polarity" {
        /// Direct current, electrode negative.
        Dcen = "DCEN",
        /// Direct current, electrode positive.
        Dcep = "DCEP",
        /// Alternating current.
        Ac = "AC",
    }
}

named! {
    /// The wave of an alternating current.
    Wave, "wave" {
        /// Both half-waves carry as much.
        Balanced = "balanced",
        /// The half-waves differ, as with a plain transformer and high frequency.
        Unbalanced = "unbalanced",
    }
}

named! {
    /// Polarity and, for alternating current, wave: what the columns of the tables are of.
    Setting, "polarity and wave" {
        /// Direct current, electrode negative.
        Dcen = "DCEN",
        /// Direct current, electrode positive.
        Dcep = "DCEP",
        /// Alternating current, balanced wave.
        AcBalanced = "AC balanced",
        /// Alternating current, unbalanced wave.
        AcUnbalanced = "AC unbalanced",
    }
}

impl Setting {
    /// The setting of a polarity and a wave; `None` unless exactly alternating current has a wave.
    pub fn of(polarity: Polarity, wave: Option<Wave>) -> Option<Self> {
        match (polarity, wave) {
            (Polarity::Dcen, None) => Some(Self::Dcen),
            (Polarity::Dcep, None) => Some(Self::Dcep),
            (Polarity::Ac, Some(Wave::Balanced)) => Some(Self::AcBalanced),
            (Polarity::Ac, Some(Wave::Unbalanced)) => Some(Self::AcUnbalanced),
            (Polarity::Dcen | Polarity::Dcep, Some(_)) | (Polarity::Ac, None) => None,
        }
    }

    /// The polarity.
    pub fn polarity(self) -> Polarity {
        match self {
            Self::Dcen => Polarity::Dcen,
            Self::Dcep => Polarity::Dcep,
            Self::AcBalanced | Self::AcUnbalanced => Polarity::Ac,
        }
    }

    /// The wave, for alternating current.
    pub fn wave(self) -> Option<Wave> {
        match self {
            Self::Dcen | Self::Dcep => None,
            Self::AcBalanced => Some(Wave::Balanced),
            Self::AcUnbalanced => Some(Wave::Unbalanced),
        }
    }
}

named! {
    /// A group of electrode classes that some table tells apart from the others.
    Group, "group of classes" {
        /// Pure tungsten.
        Pure = "pure",
        /// With zirconia, which some tables put beside pure tungsten and others beside the oxides.
        Zirconiated = "zirconiated",
        /// With ceria, lanthana or thoria, or with the oxide that a maker states.
        Oxide = "oxide",
    }
}

impl Group {
    /// The groups that a class may belong to: one, or pure and oxide where the class is not known,
    /// since the class decides the column and is never guessed.
    pub fn of(class: Option<ElectrodeClass>) -> &'static [Self] {
        match class {
            None | Some(ElectrodeClass::Unidentified) => &[Self::Oxide, Self::Pure],
            Some(ElectrodeClass::Wp) => &[Self::Pure],
            Some(ElectrodeClass::WZr3 | ElectrodeClass::WZr8) => &[Self::Zirconiated],
            Some(
                ElectrodeClass::WCe20
                | ElectrodeClass::WLa10
                | ElectrodeClass::WLa15
                | ElectrodeClass::WLa20
                | ElectrodeClass::WTh10
                | ElectrodeClass::WTh20
                | ElectrodeClass::WTh30
                | ElectrodeClass::Wg,
            ) => &[Self::Oxide],
        }
    }
}

/// The greatest current that is taken, in amperes. The tables end at 1000 A.
const AMPS_MAX: i64 = 2_000;

/// A current in amperes, over 0 and at most 2000.
///
/// ```
/// use tigstock_domain::advice::Current;
/// assert_eq!(Current::parse("125 A")?.amps(), 125.0);
/// assert!(Current::parse("-5").is_err());
/// # Ok::<(), tigstock_domain::advice::CurrentError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Current(f64);

/// Why a text is not a current.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CurrentError {
    /// Not a figure in amperes.
    #[error("{0} is not a current; give amperes, such as 125")]
    Unreadable(String),
    /// Not above 0, or above 2000 A.
    #[error("{0} A is out of range; give over 0 and at most 2000 A")]
    OutOfRange(String),
}

impl Current {
    /// Reads `125`, `125 A`, `12.5A`.
    ///
    /// # Errors
    /// [`CurrentError`]: not a figure in amperes, not above 0, or above 2000.
    pub fn parse(text: &str) -> Result<Self, CurrentError> {
        let text = text.trim();
        let figure = text.strip_suffix(['A', 'a']).unwrap_or(text).trim_end();
        let short: String = text.chars().take(40).collect();
        let plain = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
        let amps = figure
            .parse::<f64>()
            .ok()
            .filter(|_| figure.chars().all(plain));
        let amps = amps.ok_or(CurrentError::Unreadable(short))?;
        if amps > 0.0 && amps <= whole(AMPS_MAX) {
            Ok(Self(amps))
        } else {
            Err(CurrentError::OutOfRange(figure.chars().take(40).collect()))
        }
    }

    /// The amperes.
    pub fn amps(self) -> f64 {
        self.0
    }

    /// Where it lies against a range in amperes, whose ends belong to it.
    pub fn position(self, low: i64, high: i64) -> Position {
        if self.0 < whole(low) {
            Position::Below
        } else if self.0 > whole(high) {
            Position::Above
        } else {
            Position::Inside
        }
    }
}

impl fmt::Display for Current {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} A", self.0)
    }
}

/// A shop's own band of current for an electrode: from its least to its greatest ampere, both
/// included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    low: i64,
    high: i64,
}

/// Why two figures are no band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum BandError {
    /// A figure below 1 or above 2000 A.
    #[error("{0} A is out of range; give 1 to 2000 A")]
    OutOfRange(i64),
    /// The least is not below the greatest.
    #[error("{high} A is not above the least of the band, {low} A; give a greater one")]
    Reversed {
        /// The least.
        low: i64,
        /// The greatest.
        high: i64,
    },
}

impl Band {
    /// A band from `low` to `high` amperes.
    ///
    /// # Errors
    /// [`BandError`]: a figure below 1 or above 2000, or `low` not below `high`.
    pub fn new(low: i64, high: i64) -> Result<Self, BandError> {
        if let Some(wrong) = [low, high]
            .into_iter()
            .find(|amps| !(1..=AMPS_MAX).contains(amps))
        {
            return Err(BandError::OutOfRange(wrong));
        }
        if low >= high {
            return Err(BandError::Reversed { low, high });
        }
        Ok(Self { low, high })
    }

    /// The least current, in amperes.
    pub fn low(self) -> i64 {
        self.low
    }

    /// The greatest current, in amperes.
    pub fn high(self) -> i64 {
        self.high
    }

    /// Where a current lies against it.
    pub fn position(self, current: Current) -> Position {
        current.position(self.low, self.high)
    }
}

/// Amperes of a table or a band as a number to compare with.
fn whole(amps: i64) -> f64 {
    f64::from(i32::try_from(amps).unwrap_or(i32::MAX))
}
