//! A diameter is one of a short list of names. There is no numeric tolerance anywhere, because 2.5
//! is not 2.4 and 0.30 is not 0.25.

use std::fmt;

use thiserror::Error;

use super::decimal::{canonical, exact_multiple};
use super::marking::{LengthUnit, shortened, split_unit};
use super::spreadsheet::{self, Origin};

/// A named diameter of an electrode, a collet, a gas lens or a filler rod.
///
/// Metric name and trade-equivalent inch marking, common practice (the pairs of AWS A5.12 and
/// ISO 6848 as the trade prints them). Equality is equality of the name: `3/32 in` and `2.4 mm`
/// parse to the same value, `2.5 mm` does not.
///
/// ```
/// use tigstock_domain::size::Diameter;
/// let size = Diameter::parse("3/32 in")?;
/// assert_eq!(size, Diameter::parse("2.4")?);
/// assert_eq!(size.to_string(), "2.4 mm");
/// assert!(Diameter::parse("2.45").is_err());
/// # Ok::<(), tigstock_domain::size::ParseDiameterError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Diameter(u8);

/// One row of the table of names. The aliases are in canonical decimal form: no needless zeros.
struct Named {
    um: i64,
    mm: &'static str,
    inch: Option<&'static str>,
    /// Other metric figures printed for the same size.
    mm_aliases: &'static [&'static str],
    /// Decimal inch figures printed for the same size.
    inch_aliases: &'static [&'static str],
    /// Inch fractions; the first one is the usual marking.
    fractions: &'static [&'static str],
}

const fn row(um: i64, mm: &'static str) -> Named {
    Named {
        um,
        mm,
        inch: None,
        mm_aliases: &[],
        inch_aliases: &[],
        fractions: &[],
    }
}

/// The named sizes in rising order. The pairs are common practice; the metric aliases are the
/// exact inch sizes as printed to one to three decimals, plus 2.3 and 6.3, which some tables print
/// for 3/32 in and 1/4 in. Inch figures are read as inches whatever metric column they stand
/// beside in print: 0.060 in is 1.5 mm here and 0.187 in is 3/16 in (from memory: some tables
/// print them beside 1.6 and 5.0 mm).
const NAMED: [Named; 16] = [
    Named {
        inch: Some("0.010"),
        mm_aliases: &["0.254"],
        inch_aliases: &["0.01"],
        ..row(250, "0.25")
    },
    row(300, "0.30"),
    Named {
        inch: Some("0.020"),
        mm_aliases: &["0.508"],
        inch_aliases: &["0.02"],
        ..row(500, "0.5")
    },
    Named {
        inch: Some("0.040"),
        mm_aliases: &["1.016", "1.02"],
        inch_aliases: &["0.04"],
        ..row(1000, "1.0")
    },
    row(1200, "1.2"),
    Named {
        inch: Some("0.060"),
        inch_aliases: &["0.06"],
        ..row(1500, "1.5")
    },
    Named {
        inch: Some("1/16"),
        mm_aliases: &["1.588", "1.59"],
        inch_aliases: &["0.0625", "0.062", "0.063"],
        fractions: &["1/16"],
        ..row(1600, "1.6")
    },
    // 5/64 in is rare, so it is understood but not offered as "also sold as".
    Named {
        mm_aliases: &["1.984", "1.98"],
        inch_aliases: &["0.078"],
        fractions: &["5/64"],
        ..row(2000, "2.0")
    },
    Named {
        inch: Some("3/32"),
        mm_aliases: &["2.3", "2.38", "2.381"],
        inch_aliases: &["0.093", "0.094", "0.0938", "0.09375"],
        fractions: &["3/32"],
        ..row(2400, "2.4")
    },
    row(2500, "2.5"),
    row(3000, "3.0"),
    Named {
        inch: Some("1/8"),
        mm_aliases: &["3.175", "3.18"],
        inch_aliases: &["0.125"],
        fractions: &["1/8"],
        ..row(3200, "3.2")
    },
    Named {
        inch: Some("5/32"),
        mm_aliases: &["3.969", "3.97"],
        inch_aliases: &["0.156", "0.1563", "0.15625"],
        fractions: &["5/32"],
        ..row(4000, "4.0")
    },
    Named {
        inch: Some("3/16"),
        mm_aliases: &["4.763", "4.76"],
        inch_aliases: &["0.187", "0.188", "0.1875"],
        fractions: &["3/16"],
        ..row(4800, "4.8")
    },
    row(5000, "5.0"),
    Named {
        inch: Some("1/4"),
        mm_aliases: &["6.3", "6.35"],
        inch_aliases: &["0.25"],
        fractions: &["1/4"],
        ..row(6400, "6.4")
    },
];

/// Why a text is not a named diameter.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseDiameterError {
    /// Nothing but blanks.
    #[error("a diameter is missing")]
    Empty,
    /// A decimal comma, which is never guessed at: `2,4` may be 2.4 or two cells run together.
    #[error("{value} has a decimal comma; write {hint}")]
    Comma {
        /// The text as given, shortened.
        value: String,
        /// The same with a full stop.
        hint: String,
    },
    /// A date or a date's serial number, as spreadsheets make of a fraction.
    #[error(
        "{value} looks like {}{fraction} turned into a date by the spreadsheet; write {fraction}in or format the column as text",
        if *.certain { "the fraction " } else { "a fraction such as " }
    )]
    Date {
        /// The text as given, shortened.
        value: String,
        /// The named fraction it may have been, or 3/32 as the example.
        fraction: &'static str,
        /// Whether `fraction` follows from the date; otherwise it is only an example.
        certain: bool,
    },
    /// A figure that is not a name.
    #[error("{value} is not a named diameter{}", nearest_words(.nearest))]
    Unknown {
        /// The text as given, shortened.
        value: String,
        /// The named sizes next to it, where the text is a number.
        nearest: Vec<Diameter>,
    },
}

fn nearest_words(nearest: &[Diameter]) -> String {
    match nearest {
        [] => "; write it in mm or as an inch fraction, such as 2.4 mm or 3/32 in".to_owned(),
        [one] => format!("; the nearest is {one}"),
        [first, second, ..] => format!("; the nearest are {first} and {second}"),
    }
}

impl Diameter {
    /// Every named diameter, smallest first.
    pub const ALL: [Self; 16] = {
        let mut all = [Self(0); 16];
        let mut index = 0_u8;
        while index < 16 {
            all[index as usize] = Self(index);
            index += 1;
        }
        all
    };

    fn named(self) -> &'static Named {
        &NAMED[usize::from(self.0)]
    }

    /// Reads a marking: `2.4`, `2.4 mm`, `3/32`, `3/32 in`, `3/32"`, `0.093 in`, `.040in`.
    ///
    /// A figure without a unit is millimetres, a fraction without a unit is inches. Only the names
    /// and aliases of the table are known; nothing is rounded.
    ///
    /// # Errors
    /// [`ParseDiameterError`]: empty, a decimal comma, a date made of a fraction, or not a name.
    pub fn parse(text: &str) -> Result<Self, ParseDiameterError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(ParseDiameterError::Empty);
        }
        if let Some(found) = Self::lookup(text) {
            return Ok(found);
        }
        Err(Self::refusal(text))
    }

    fn lookup(text: &str) -> Option<Self> {
        let (figure, unit) = split_unit(text);
        if figure.contains('/') {
            let fraction: String = figure.chars().filter(|c| !c.is_whitespace()).collect();
            return (unit != Some(LengthUnit::Millimetre))
                .then(|| Self::find(|named| named.fractions.contains(&fraction.as_str())))
                .flatten();
        }
        let figure = canonical(figure)?;
        match unit {
            Some(LengthUnit::Inch) => {
                Self::find(|named| named.inch_aliases.contains(&figure.as_str()))
            }
            Some(LengthUnit::Millimetre) | None => Self::find(|named| {
                canonical(named.mm).is_some_and(|name| name == figure)
                    || named.mm_aliases.contains(&figure.as_str())
            }),
        }
    }

    fn find(test: impl Fn(&Named) -> bool) -> Option<Self> {
        Self::ALL.into_iter().find(|size| test(size.named()))
    }

    fn refusal(text: &str) -> ParseDiameterError {
        let value = shortened(text);
        let (figure, unit) = split_unit(text);
        let with_stop = figure.replace(',', ".");
        if figure.contains(',') && canonical(&with_stop).is_some() {
            let hint = text.replace(',', ".");
            return ParseDiameterError::Comma { value, hint };
        }
        match spreadsheet::origin(text) {
            Origin::Fraction(fraction) => {
                return ParseDiameterError::Date {
                    value,
                    fraction,
                    certain: true,
                };
            }
            Origin::SomeDate => {
                return ParseDiameterError::Date {
                    value,
                    fraction: "3/32",
                    certain: false,
                };
            }
            Origin::NoDate => {}
        }
        let nearest = canonical(figure)
            .and_then(|figure| figure.parse::<f64>().ok())
            .map(|number| {
                if unit == Some(LengthUnit::Inch) {
                    number * 25.4
                } else {
                    number
                }
            })
            .map_or_else(Vec::new, neighbours);
        ParseDiameterError::Unknown { value, nearest }
    }

    /// Whether a marking of a size is in inches: a fraction, or a figure with the unit.
    pub fn is_inch_marking(text: &str) -> bool {
        let (figure, unit) = split_unit(text);
        match unit {
            Some(unit) => unit == LengthUnit::Inch,
            None => figure.contains('/'),
        }
    }

    /// The size whose nominal is exactly `um` micrometres, as [`um`](Self::um) gives it.
    pub fn from_um(um: i64) -> Option<Self> {
        Self::find(|named| named.um == um)
    }

    /// The metric name in micrometres: 2400 for 2.4 mm. It is the name, not a measurement: a rod
    /// sold as 3/32 in measures 2381.
    pub fn um(self) -> i64 {
        self.named().um
    }

    /// The metric name without its unit: `2.4`.
    pub fn mm(self) -> &'static str {
        self.named().mm
    }

    /// The size in inches as an exact fraction, over and under: by its inch marking where it has
    /// one, `(3, 32)` for 2.4 mm; else the metric name by the inch of 25.4 mm.
    pub fn inches(self) -> (i64, i64) {
        let number = |text: &str| exact_multiple(text, 1);
        let fraction = self.named().fractions.first();
        let fraction = fraction.and_then(|text| {
            let (over, under) = text.split_once('/')?;
            Some((number(over)?, number(under)?))
        });
        let decimal = || Some((exact_multiple(self.named().inch?, 1_000)?, 1_000));
        fraction.or_else(decimal).unwrap_or((self.um(), 25_400))
    }

    /// The usual inch marking without its unit, where the size has one: `3/32`.
    pub fn inch(self) -> Option<&'static str> {
        self.named().inch
    }
}

/// The named sizes on either side of a figure in millimetres.
fn neighbours(mm: f64) -> Vec<Diameter> {
    let um = mm * 1000.0;
    let is_below = |size: &&Diameter| f64::from(i32::try_from(size.um()).unwrap_or(i32::MAX)) < um;
    let below = Diameter::ALL.iter().take_while(is_below).last();
    let above = Diameter::ALL.iter().find(|size| !is_below(size));
    below.into_iter().chain(above).copied().collect()
}

impl fmt::Display for Diameter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm())
    }
}
