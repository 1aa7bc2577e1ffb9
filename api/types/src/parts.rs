//! Parts: one stock-keeping thing each, with the fields of its kind. The wire is flat, so that a
//! row of a sheet and a body of JSON look alike; `domain::PartSpec` is what it becomes.

use chrono::{DateTime, Utc};
use domain::exposure::Driver;
use domain::wear::Gamma;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;

mod read;
mod tell;

/// A starting assumption of wear: a Gamma distribution of parts used per unit of the driver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartingAssumption {
    /// `arc-hour`, `grind` or `week`.
    #[schema(example = "arc-hour")]
    pub per: String,
    /// Shape of the Gamma distribution: as if so many parts had been used.
    #[schema(example = 2.0, exclusive_minimum = 0.0)]
    pub shape: f64,
    /// Rate of the Gamma distribution: over so many units of the driver.
    #[schema(example = 20.0, exclusive_minimum = 0.0)]
    pub rate: f64,
}

resource! {
    /// A part as it should be. Which fields belong depends on `kind`; sizes are named sizes, in either
    /// mark (`2.4 mm`, `3/32 in`), never within a tolerance.
    #[derive(Default)]
    new NewPart
    /// A part.
    view Part
    given {
        /// The short name the shop chooses.
        #[schema(example = "WLa20-2.4")]
        code: String,
        /// `electrode`, `collet`, `collet-body`, `gas-lens`, `cup`, `back-cap`, `o-ring`, `insulator`,
        /// `shielding-gas`, `filler-rod` or `tungsten-wheel`.
        #[schema(example = "electrode")]
        kind: String,
        /// Electrode: the class, ISO 6848 or AWS A5.12.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "WLa20")]
        class: Option<String>,
        /// Electrode, collet, collet body, gas lens, filler rod: the named diameter.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "2.4 mm")]
        diameter: Option<String>,
        /// Electrode: the length as delivered. Back cap: `short`, `medium` or `long`. Collet:
        /// `standard` or `short`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "175 mm")]
        length: Option<String>,
        /// Front-end parts: the torch body family, `small` or `large`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        family: Option<String>,
        /// Collet body, gas lens, insulator: `standard`, `gas-lens`, `large-gas-lens` or `short-nose`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        arrangement: Option<String>,
        /// Cup: its number, the bore in sixteenths of an inch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cup_number: Option<i64>,
        /// Cup without a number on it: the measured bore, in place of `cup_number`. It is a named
        /// bore, in mm or inches, never within a tolerance. Answers tell the number instead.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "7/16 in")]
        bore: Option<String>,
        /// Cup: the seat, `standard`, `gas-lens` or `large-gas-lens`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<String>,
        /// Shielding gas: the mixture. Filler rod: the classification.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        composition: Option<String>,
        /// The marking as printed on the part or its packet. An electrode whose diameter is given in
        /// inches or whose class is given by AWS A5.12 is taken to be marked so, unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "3/32 in EWLa-2")]
        marking: Option<String>,
        /// Electrode of the general class WG: the grade that its maker declares, which is what tells
        /// one from another.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        grade: Option<String>,
        /// O-ring: months after which the shop wants to look at it; 12 unless told (a starting assumption).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 12, minimum = 1, maximum = 600)]
        renew_months: Option<i64>,
        /// O-ring: removals of the back cap after which the shop wants to look at it; 200 unless told (a
        /// starting assumption).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 200, minimum = 1, maximum = 100_000)]
        renew_removals: Option<i64>,
        /// A note of the shop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// The shop's own starting assumptions; the built-in ones serve where it has none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        starting_assumptions: Vec<StartingAssumption>,
    }
    added {
        /// The part in words.
        #[schema(example = "Electrode WLa20 2.4 mm")]
        name: String,
        /// What stock is counted in: `piece`, `ml` or `g`.
        unit: String,
        /// When it was set up.
        created_at: DateTime<Utc>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of parts.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct PartPage {
    /// The parts by code.
    pub parts: Vec<Part>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a part.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct PartPath {
    /// The code of the part.
    pub part: String,
}

impl StartingAssumption {
    /// The driver and the distribution.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn gamma(&self) -> Result<(Driver, Gamma), String> {
        let driver = Driver::parse(&self.per).map_err(|error| error.to_string())?;
        let gamma = Gamma::new(self.shape, self.rate).map_err(|error| error.to_string())?;
        Ok((driver, gamma))
    }
}
