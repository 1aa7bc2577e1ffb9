//! Shielding gas: what a piece of work uses, what a cylinder holds, how long it lasts, and the arc
//! time that a swap of cylinders tells of. Advice on flow is in [`advice`](crate::advice); what gas
//! costs and where it stands is elsewhere.

use std::fmt;

use thiserror::Error;

use crate::advice::CFH_IN_LITRES_PER_MINUTE;
use crate::exposure::ArcTime;
use crate::quantity::QUANTITY_MAX;
use crate::size::exact_multiple;
use crate::special::{count_at_or_below, real};

#[cfg(test)]
mod tests;

/// The pressure of the air in bar, against which a gauge in bar is read as a multiple (nominal).
pub const AIR_BAR: f64 = 1.0;
/// The pressure of the air in pounds per square inch (nominal).
pub const AIR_PSI: f64 = 14.7;

/// A flow of gas in whole millilitres a minute at normal conditions, 0.1 to 200 L/min.
///
/// ```
/// use tigstock_domain::gas::GasFlow;
/// assert_eq!(GasFlow::parse("8 L/min")?.ml_per_minute(), 8_000);
/// assert_eq!(GasFlow::parse("10cfh")?.ml_per_minute(), 4_719);
/// assert!(GasFlow::parse("8").is_err()); // litres a minute or cubic feet an hour? It must say.
/// # Ok::<(), tigstock_domain::gas::GasError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GasFlow(i64);

/// Why gas cannot be worked out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GasError {
    /// Not a figure with a unit.
    #[error("{0} is not a flow; write it with its unit, such as 8 L/min or 17 cfh")]
    NotFlow(String),
    /// A flow that no torch has.
    #[error("a flow of {0} mL a minute is out of range; give 0.1 to 200 L/min")]
    FlowOutOfRange(i64),
    /// A volume below zero, or more gas than is ever counted.
    #[error("{what} of {value} mL is out of range; give 0 to {QUANTITY_MAX} mL")]
    VolumeOutOfRange {
        /// What was given.
        what: &'static str,
        /// The number given, as near as 64 bits hold it.
        value: i64,
    },
    /// A flow of gas before or after the arc that is no such time.
    #[error(
        "{what} of {value} ms is out of range; give 0 to {} ms",
        Starts::MILLISECONDS_MAX
    )]
    TimeOutOfRange {
        /// Pre-flow or post-flow.
        what: &'static str,
        /// The number given.
        value: i64,
    },
    /// More starts than any job has, or fewer than none.
    #[error("{0} starts are out of range; give 0 to {max}", max = Starts::MAX)]
    StartsOutOfRange(i64),
    /// A pressure that is not one.
    #[error("a pressure of {0} is out of range; give a number above 0, in the unit of the other")]
    Pressure(f64),
    /// The gas before and after the arc is more than there was.
    #[error(
        "{starts} starts with their gas before and after the arc take {taken} of the {lasted} the \
         cylinder lasted, so no arc time is left; check the flow and the starts"
    )]
    NoArcLeft {
        /// How many starts.
        starts: u32,
        /// The time of gas they take.
        taken: ArcTime,
        /// The time of gas that the cylinder held.
        lasted: ArcTime,
    },
}

impl GasFlow {
    /// The smallest flow, in millilitres a minute.
    pub const MIN: i64 = 100;
    /// The largest flow, in millilitres a minute.
    pub const MAX: i64 = 200_000;

    /// A flow of so many millilitres a minute.
    ///
    /// # Errors
    /// [`GasError::FlowOutOfRange`] outside 0.1 to 200 L/min.
    pub fn new(ml_per_minute: i64) -> Result<Self, GasError> {
        if (Self::MIN..=Self::MAX).contains(&ml_per_minute) {
            Ok(Self(ml_per_minute))
        } else {
            Err(GasError::FlowOutOfRange(ml_per_minute))
        }
    }

    /// Reads litres a minute (`8 L/min`, `7.5l/min`, `8l`) or cubic feet an hour (`17 cfh`), these to
    /// the nearest millilitre a minute.
    ///
    /// # Errors
    /// [`GasError`]: no unit, no figure, or out of range.
    pub fn parse(text: &str) -> Result<Self, GasError> {
        let shown = || GasError::NotFlow(text.trim().chars().take(40).collect());
        let squeezed: String = text
            .chars()
            .filter(|letter| !letter.is_whitespace())
            .flat_map(char::to_lowercase)
            .collect();
        let litres = ["l/min", "lpm", "l"];
        if let Some(figure) = litres.iter().find_map(|unit| squeezed.strip_suffix(unit)) {
            return Self::new(exact_multiple(figure, 1_000).ok_or_else(shown)?);
        }
        let figure = squeezed.strip_suffix("cfh").ok_or_else(shown)?;
        let thousandths = exact_multiple(figure, 1_000).ok_or_else(shown)?;
        let cfh_thousandths = u64::try_from(thousandths).map_err(|_| shown())?;
        // Thousandths of CFH times litres a minute are millilitres a minute.
        let ml = count_at_or_below(real(cfh_thousandths) * CFH_IN_LITRES_PER_MINUTE + 0.5);
        Self::new(i64::try_from(ml).map_err(|_| shown())?)
    }

    /// The flow in millilitres a minute.
    pub fn ml_per_minute(self) -> i64 {
        self.0
    }

    /// How long `volume_ml` lasts at this flow, in whole seconds, rounded down. A volume below
    /// nothing lasts no time.
    pub fn seconds_of(self, volume_ml: i64) -> i64 {
        let seconds = i128::from(volume_ml.max(0)) * 60 / i128::from(self.0);
        i64::try_from(seconds).unwrap_or(i64::MAX)
    }
}

impl fmt::Display for GasFlow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.0 / 1_000, self.0 % 1_000);
        if part == 0 {
            write!(f, "{whole} L/min")
        } else {
            let part = format!("{part:03}");
            write!(f, "{whole}.{} L/min", part.trim_end_matches('0'))
        }
    }
}

/// The starts of a piece of work, and the gas that flows before and after each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Starts {
    count: u32,
    pre_ms: i64,
    post_ms: i64,
}

impl Starts {
    /// The most starts in one piece of work.
    pub const MAX: i64 = 1_000_000;
    /// The longest flow before or after an arc: ten minutes, in milliseconds.
    pub const MILLISECONDS_MAX: i64 = 600_000;

    /// So many starts with this pre-flow and post-flow each, in milliseconds.
    ///
    /// # Errors
    /// [`GasError`] outside 0 to 1 000 000 starts or 0 to 600 000 ms.
    pub fn new(count: i64, pre_ms: i64, post_ms: i64) -> Result<Self, GasError> {
        for (what, value) in [("a pre-flow", pre_ms), ("a post-flow", post_ms)] {
            if !(0..=Self::MILLISECONDS_MAX).contains(&value) {
                return Err(GasError::TimeOutOfRange { what, value });
            }
        }
        let out = || GasError::StartsOutOfRange(count);
        if count > Self::MAX {
            return Err(out());
        }
        Ok(Self {
            count: u32::try_from(count).map_err(|_| out())?,
            pre_ms,
            post_ms,
        })
    }

    /// How many.
    pub fn count(self) -> u32 {
        self.count
    }

    /// The gas time of all of them without the arc, in milliseconds.
    fn milliseconds(self) -> i128 {
        i128::from(self.count) * i128::from(self.pre_ms + self.post_ms)
    }

    /// The same in whole seconds, rounded down, and at most what an arc time holds.
    fn seconds(self) -> i64 {
        i64::try_from(self.milliseconds() / 1_000)
            .unwrap_or(i64::MAX)
            .min(ArcTime::SECONDS_MAX)
    }
}

/// What uses shielding gas in a piece of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct GasUse {
    /// The flow at the cup.
    pub flow: GasFlow,
    /// How long the arc burns.
    pub arc: ArcTime,
    /// The starts, with the gas before and after each.
    pub starts: Starts,
    /// Purging, in millilitres.
    pub purge_ml: i64,
    /// Leaks over the whole work, in millilitres.
    pub leaks_ml: i64,
}

impl GasUse {
    /// The gas in millilitres, rounded up: V = Q (T + N (t + u)) + purge + leaks, with the
    /// flow Q, the arc time T, and N starts with t of pre-flow and u of post-flow each.
    ///
    /// ```
    /// use tigstock_domain::exposure::ArcTime;
    /// use tigstock_domain::gas::{GasFlow, GasUse, Starts};
    /// let work = GasUse {
    ///     flow: GasFlow::parse("7 L/min")?,
    ///     arc: ArcTime::parse("60m")?,
    ///     starts: Starts::new(120, 500, 12_000)?,
    ///     purge_ml: 0,
    ///     leaks_ml: 0,
    /// };
    /// assert_eq!(work.volume_ml()?, 595_000); // 420 L of arc and 175 L before and after it
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`GasError::VolumeOutOfRange`] for purging or leaks below nothing, or more than 1 000 000 L
    /// in all.
    pub fn volume_ml(&self) -> Result<i64, GasError> {
        for (what, value) in [("purging", self.purge_ml), ("leaks", self.leaks_ml)] {
            check_volume(what, value)?;
        }
        let milliseconds = i128::from(self.arc.seconds()) * 1_000 + self.starts.milliseconds();
        let product = milliseconds * i128::from(self.flow.ml_per_minute());
        let at_the_cup = (product + 59_999) / 60_000;
        let total = at_the_cup + i128::from(self.purge_ml) + i128::from(self.leaks_ml);
        let total = i64::try_from(total).unwrap_or(i64::MAX);
        check_volume("gas", total)?;
        Ok(total)
    }
}

/// What a cylinder of `water_ml` holds at a gauge pressure, in millilitres at the pressure of the
/// air, rounded down: water volume x pressure / air. Both pressures are in the same unit.
///
/// It is the ideal gas, and a floor for argon at 200 bar, which packs a little closer. Argon is a
/// gas in its cylinder, so half the pressure is half the content.
///
/// # Errors
/// [`GasError`]: a pressure that is not above 0, or a volume out of range.
pub fn content_ml(water_ml: i64, pressure: f64, air: f64) -> Result<i64, GasError> {
    check_volume("a water volume", water_ml)?;
    for one in [pressure, air] {
        if !(one > 0.0 && one.is_finite()) {
            return Err(GasError::Pressure(one));
        }
    }
    let water = real(u64::try_from(water_ml).unwrap_or(0));
    // A hair above, so that a product that is whole on paper does not lose its last millilitre.
    let content = count_at_or_below(water * pressure / air * (1.0 + 1e-12));
    let content = i64::try_from(content).unwrap_or(i64::MAX);
    check_volume("a content", content)?;
    Ok(content)
}

/// The arc time that a swapped cylinder tells of: contents / flow, less the gas before and after
/// each start, in whole seconds.
///
/// Purging has to be taken off the contents first; leaks make it an upper bound.
///
/// # Errors
/// [`GasError`]: contents out of range, or nothing left for the arc.
pub fn arc_of_swap(used_ml: i64, flow: GasFlow, starts: Starts) -> Result<ArcTime, GasError> {
    check_volume("a content", used_ml)?;
    let arc_time = |seconds: i64| {
        ArcTime::from_seconds(seconds).map_err(|_| GasError::VolumeOutOfRange {
            what: "a content at that flow",
            value: used_ml,
        })
    };
    let (lasted, taken) = (flow.seconds_of(used_ml), starts.seconds());
    let (gas_on, without_arc) = (arc_time(lasted)?, arc_time(taken)?);
    if taken >= lasted {
        return Err(GasError::NoArcLeft {
            starts: starts.count(),
            taken: without_arc,
            lasted: gas_on,
        });
    }
    arc_time(lasted - taken)
}

fn check_volume(what: &'static str, value: i64) -> Result<(), GasError> {
    if (0..=QUANTITY_MAX).contains(&value) {
        Ok(())
    } else {
        Err(GasError::VolumeOutOfRange { what, value })
    }
}
