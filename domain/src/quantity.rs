//! Exact amounts: quantities of stock and sums of money, both whole numbers with a ceiling. Units
//! of stock are those of the part; rates and exposures are elsewhere.

use std::fmt;

use thiserror::Error;

/// The largest quantity of anything: a thousand million pieces, millilitres or grams. With it a
/// sum of nine thousand million entries still fits 64 bits.
pub const QUANTITY_MAX: i64 = 1_000_000_000;

/// The largest sum of money, in minor units.
pub const MONEY_MAX: i64 = 1_000_000_000_000;

/// A whole, non-negative quantity up to [`QUANTITY_MAX`], in the unit of its part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Quantity(i64);

/// Why a number is not a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum QuantityError {
    /// Below zero.
    #[error("a quantity cannot be negative, this one is {0}")]
    Negative(i64),
    /// Above [`QUANTITY_MAX`].
    #[error("a quantity is at most {QUANTITY_MAX}, this one is {0}")]
    TooLarge(i64),
}

impl Quantity {
    /// A quantity of `value`.
    ///
    /// # Errors
    /// [`QuantityError`] below 0 or above [`QUANTITY_MAX`].
    pub fn new(value: i64) -> Result<Self, QuantityError> {
        match value {
            ..0 => Err(QuantityError::Negative(value)),
            0..=QUANTITY_MAX => Ok(Self(value)),
            _ => Err(QuantityError::TooLarge(value)),
        }
    }

    /// The number itself.
    pub fn get(self) -> i64 {
        self.0
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A currency of ISO 4217 that has a minor unit, or none at all as the yen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency(iso_currency::Currency);

impl Currency {
    /// Reads a three-letter code in any case.
    ///
    /// # Errors
    /// [`MoneyError::UnknownCurrency`] for anything that is not a code of ISO 4217 with a stated
    /// number of minor digits; the metals and test codes have none.
    pub fn parse(text: &str) -> Result<Self, MoneyError> {
        iso_currency::Currency::from_code(&text.trim().to_ascii_uppercase())
            .filter(|currency| currency.exponent().is_some())
            .map(Self)
            .ok_or_else(|| MoneyError::UnknownCurrency(text.trim().chars().take(40).collect()))
    }

    /// The code in capitals: `CAD`.
    pub fn code(self) -> &'static str {
        self.0.code()
    }

    /// How many digits the minor unit has: 2 for cents, 0 for the yen.
    pub fn minor_digits(self) -> u32 {
        self.0.exponent().map_or(0, u32::from)
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// A non-negative sum of money in minor units of its currency, up to [`MONEY_MAX`].
///
/// ```
/// use tigstock_domain::quantity::{Currency, Money};
/// let cad = Currency::parse("CAD")?;
/// let order = Money::new(4_200, cad)?.checked_add(Money::new(1_250, cad)?)?;
/// assert_eq!(order.to_string(), "54.50 CAD");
/// # Ok::<(), tigstock_domain::quantity::MoneyError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    minor: i64,
    currency: Currency,
}

/// Why a sum of money cannot be had.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MoneyError {
    /// Not a currency code.
    #[error("{0} is not an ISO 4217 currency code")]
    UnknownCurrency(String),
    /// Below zero or above [`MONEY_MAX`].
    #[error("a sum of money is from 0 to {MONEY_MAX} minor units")]
    OutOfRange,
    /// Two currencies do not add up.
    #[error("{0} and {1} do not add up")]
    Mixed(Currency, Currency),
    /// Not a decimal with at most the currency's minor digits.
    #[error("{value} is not an amount in {currency}; write digits and at most {} decimals", .currency.minor_digits())]
    Unreadable {
        /// The text as given, shortened.
        value: String,
        /// The currency it was to be in.
        currency: Currency,
    },
}

impl Money {
    /// `minor` minor units of `currency`.
    ///
    /// # Errors
    /// [`MoneyError::OutOfRange`] below 0 or above [`MONEY_MAX`].
    pub fn new(minor: i64, currency: Currency) -> Result<Self, MoneyError> {
        if (0..=MONEY_MAX).contains(&minor) {
            Ok(Self { minor, currency })
        } else {
            Err(MoneyError::OutOfRange)
        }
    }

    /// Reads a decimal amount, `12.50` or `12`, with a full stop; exact.
    ///
    /// # Errors
    /// [`MoneyError::Unreadable`] for anything else or for more decimals than the currency has;
    /// [`MoneyError::OutOfRange`] for too large a sum.
    pub fn parse(text: &str, currency: Currency) -> Result<Self, MoneyError> {
        let text = text.trim();
        let unreadable = || MoneyError::Unreadable {
            value: text.chars().take(40).collect(),
            currency,
        };
        let (whole, part) = text
            .split_once('.')
            .map_or((text, None), |(w, p)| (w, Some(p)));
        let digits = usize::try_from(currency.minor_digits()).unwrap_or(0);
        let is_number = |t: &str| !t.is_empty() && t.bytes().all(|byte| byte.is_ascii_digit());
        if !is_number(whole) || part.is_some_and(|p| !is_number(p) || p.len() > digits) {
            return Err(unreadable());
        }
        let minor = format!("{whole}{:0<digits$}", part.unwrap_or(""));
        minor
            .parse()
            .map_err(|_| MoneyError::OutOfRange)
            .and_then(|minor| Self::new(minor, currency))
    }

    /// The sum in minor units.
    pub fn minor(self) -> i64 {
        self.minor
    }

    /// The currency.
    pub fn currency(self) -> Currency {
        self.currency
    }

    /// The sum as a decimal in the main unit, with a full stop and without the currency: `54.50`, or `5450` of a
    /// currency without minor digits. [`Money::parse`] reads it.
    pub fn amount(self) -> String {
        let digits = usize::try_from(self.currency.minor_digits()).unwrap_or(0);
        let text = format!("{:0>width$}", self.minor, width = digits + 1);
        let (whole, part) = text.split_at(text.len() - digits);
        let stop = if digits == 0 { "" } else { "." };
        format!("{whole}{stop}{part}")
    }

    /// The two sums together.
    ///
    /// # Errors
    /// [`MoneyError::Mixed`] for two currencies, [`MoneyError::OutOfRange`] above [`MONEY_MAX`].
    pub fn checked_add(self, other: Self) -> Result<Self, MoneyError> {
        if self.currency == other.currency {
            // Both are at most MONEY_MAX, so the sum is far from the end of 64 bits.
            Self::new(self.minor + other.minor, self.currency)
        } else {
            Err(MoneyError::Mixed(self.currency, other.currency))
        }
    }

    /// The sum `times` over: so many packs at this price.
    ///
    /// # Errors
    /// [`MoneyError::OutOfRange`] above [`MONEY_MAX`].
    pub fn checked_mul(self, times: u64) -> Result<Self, MoneyError> {
        i64::try_from(times)
            .ok()
            .and_then(|times| self.minor.checked_mul(times))
            .ok_or(MoneyError::OutOfRange)
            .and_then(|minor| Self::new(minor, self.currency))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount(), self.currency)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn currency(code: &str) -> Currency {
        Currency::parse(code).expect("a currency")
    }

    #[test]
    fn a_quantity_stays_between_nothing_and_the_ceiling() {
        assert_eq!(Quantity::new(-1), Err(QuantityError::Negative(-1)));
        assert_eq!(
            Quantity::new(QUANTITY_MAX).map(Quantity::get),
            Ok(QUANTITY_MAX)
        );
        assert_eq!(
            Quantity::new(i64::MAX),
            Err(QuantityError::TooLarge(i64::MAX))
        );
    }

    #[test]
    fn money_prints_with_the_digits_of_its_currency() {
        let said = [
            ("cad", 5, "0.05 CAD"),
            ("JPY", 1_250, "1250 JPY"),
            ("KWD", 1_250, "1.250 KWD"),
        ];
        for (code, minor, words) in said {
            let money = Money::new(minor, currency(code)).expect("money");
            assert_eq!(money.to_string(), words);
        }
    }

    #[test]
    fn an_amount_reads_exactly_or_not_at_all() {
        let cad = currency("CAD");
        assert_eq!(Money::parse("12.5", cad).map(Money::minor), Ok(1_250));
        assert_eq!(Money::parse("12", cad).map(Money::minor), Ok(1_200));
        for bad in ["", "12.", ".50", "12.505", "12,50", "-1", "1e3"] {
            assert!(
                matches!(Money::parse(bad, cad), Err(MoneyError::Unreadable { .. })),
                "{bad}"
            );
        }
        let long = "9".repeat(30);
        assert_eq!(Money::parse(&long, cad), Err(MoneyError::OutOfRange));
    }

    #[test]
    fn currencies_do_not_mix_and_metals_are_no_currency() {
        let (cad, eur) = (currency("CAD"), currency("EUR"));
        let one = Money::new(100, cad).expect("money");
        let other = Money::new(100, eur).expect("money");
        assert_eq!(one.checked_add(other), Err(MoneyError::Mixed(cad, eur)));
        assert_eq!(one.checked_mul(u64::MAX), Err(MoneyError::OutOfRange));
        assert!(Currency::parse("XAU").is_err() && Currency::parse("dollars").is_err());
    }
}
