//! What is watched, and from what on it is low: limits as people write them, and filters over several
//! parts. How long a warning lives is in [`warning`](crate::warning).

use std::fmt;

use thiserror::Error;

mod filter;
#[cfg(test)]
mod tests;

pub use filter::{Filter, FilterError};

/// From what on stock is low.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// The order point: the need over lead time and review at the target.
    OrderPoint,
    /// A chance of being short before an order of now is there, above 0 and below 1.
    Chance(f64),
    /// The days that stock lasts, more likely than not.
    Cover(u32),
    /// A plain number of pieces.
    Pieces(i64),
}

/// Why a text is no limit.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LimitError {
    /// A number below zero.
    #[error("{0} is below zero: a limit is 0 pieces or more")]
    BelowZero(String),
    /// A chance that is none.
    #[error("{0} is no chance between 0 % and 100 %: write it like chance 10%")]
    Chance(String),
    /// Days that are none.
    #[error("{0} is no number of days from 1 to 366: write it like cover 14d")]
    Cover(String),
    /// Nothing of the kind.
    #[error("{0} is no limit: write order point, a number of pieces, chance 10%, or cover 14d")]
    Unknown(String),
}

impl Limit {
    /// The most pieces that a limit can be.
    pub const PIECES_MAX: i64 = 1_000_000;
    /// The most days of cover.
    pub const COVER_DAYS_MAX: u32 = 366;

    /// Reads a limit.
    ///
    /// ```
    /// use tigstock_domain::watch::Limit;
    /// assert_eq!(Limit::parse("4"), Ok(Limit::Pieces(4)));
    /// assert_eq!(Limit::parse("chance 10%"), Ok(Limit::Chance(0.1)));
    /// assert_eq!(Limit::parse("cover 14d"), Ok(Limit::Cover(14)));
    /// assert_eq!(Limit::parse("order point"), Ok(Limit::OrderPoint));
    /// assert!(Limit::parse("-1").unwrap_err().to_string().contains("below zero"));
    /// ```
    ///
    /// # Errors
    /// [`LimitError`], which names what would do.
    pub fn parse(text: &str) -> Result<Self, LimitError> {
        let told = || text.trim().chars().take(40).collect::<String>();
        let lower = text.trim().to_lowercase();
        if matches!(lower.as_str(), "order point" | "order-point") {
            return Ok(Self::OrderPoint);
        }
        if let Some(chance) = lower.strip_prefix("chance") {
            return parse_chance(chance).ok_or_else(|| LimitError::Chance(told()));
        }
        if let Some(days) = lower.strip_prefix("cover") {
            let days = days.trim().trim_end_matches("days").trim_end_matches('d');
            let days = days.trim().parse::<u32>().ok();
            let days = days.filter(|days| (1..=Self::COVER_DAYS_MAX).contains(days));
            return days
                .map(Self::Cover)
                .ok_or_else(|| LimitError::Cover(told()));
        }
        match lower.parse::<i64>() {
            Ok(pieces) if pieces < 0 => Err(LimitError::BelowZero(told())),
            Ok(pieces) if pieces <= Self::PIECES_MAX => Ok(Self::Pieces(pieces)),
            Ok(_) | Err(_) => Err(LimitError::Unknown(told())),
        }
    }

    /// The order point in pieces that this limit stands for: stock is low at an inventory position of so
    /// many or fewer.
    ///
    /// For a chance p it is one less than the smallest q with P(use <= q) >= 1 - p before a delivery,
    /// since a position of q or more is short with a chance of at most p. For days of cover it is the
    /// median use over them. `order_point` is what is known of the textbook's; `use_at` gives the
    /// quantile of the use before a delivery (`None`) or over some days.
    pub fn point(
        &self,
        order_point: Option<i64>,
        use_at: impl Fn(Option<u32>, f64) -> Option<i64>,
    ) -> Option<i64> {
        match self {
            Self::OrderPoint => order_point,
            Self::Chance(chance) => use_at(None, 1.0 - chance).map(|need| need - 1),
            Self::Cover(days) => use_at(Some(*days), 0.5),
            Self::Pieces(pieces) => Some(*pieces),
        }
    }
}

/// A chance as `10%`, `10 %` or `0.1`.
fn parse_chance(text: &str) -> Option<Limit> {
    let text = text.trim();
    let chance = match text.strip_suffix('%') {
        Some(percent) => percent.trim().parse::<f64>().ok()? / 100.0,
        None => text.parse::<f64>().ok()?,
    };
    (chance > 0.0 && chance < 1.0).then_some(Limit::Chance(chance))
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OrderPoint => f.write_str("order point"),
            Self::Chance(chance) => write!(f, "chance {}%", round(chance * 100.0)),
            Self::Cover(days) => write!(f, "cover {days}d"),
            Self::Pieces(pieces) => write!(f, "{pieces}"),
        }
    }
}

/// Without the dust of binary fractions, so that what is shown reads back as what it was.
fn round(percent: f64) -> f64 {
    (percent * 1e9).round() / 1e9
}
