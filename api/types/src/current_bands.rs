//! Current bands: the range of current that the shop itself has set for an electrode. Where there is
//! one, it goes before what published tables say.

use domain::advice::{Band, BandError, Polarity, Setting};
use domain::class::ElectrodeClass;
use domain::size::Diameter;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::electrodes::setting;
use crate::shape::resource;
use crate::{Checker, Violation};

/// The longest source of a band, in characters.
const SOURCE_MAX: usize = 200;

resource! {
    /// A current band as it should be.
    #[derive(Default)]
    new NewCurrentBand
    /// A current band.
    view CurrentBand
    given {
        /// The diameter of the electrode.
        #[schema(example = "2.4 mm")]
        diameter: String,
        /// The electrode class; any unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "WLa20")]
        class: Option<String>,
        /// `DCEN`, `DCEP` or `AC`.
        #[schema(example = "DCEN")]
        polarity: String,
        /// The wave, `balanced` or `unbalanced`; for AC, and for AC only.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wave: Option<String>,
        /// The least current, in amperes.
        #[schema(example = 60, minimum = 1, maximum = 2000)]
        amps_min: i64,
        /// The greatest current, in amperes.
        #[schema(example = 160, minimum = 1, maximum = 2000)]
        amps_max: i64,
        /// Where the shop has it from.
        #[schema(example = "own trials on 3 mm stainless, spring 2026")]
        source: String,
    }
    added {
        /// Names the band in paths.
        id: Uuid,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of current bands.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct CurrentBandPage {
    /// The bands, oldest first.
    pub current_bands: Vec<CurrentBand>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a current band.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct CurrentBandPath {
    /// The id of the band.
    pub current_band: String,
}

/// What a band is for, and its figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CheckedBand {
    /// The diameter.
    pub diameter: Diameter,
    /// The class; `None` for any.
    pub class: Option<ElectrodeClass>,
    /// Polarity and wave.
    pub setting: Setting,
    /// The figures.
    pub band: Band,
}

impl NewCurrentBand {
    /// What the band is for and its figures, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<CheckedBand, Vec<Violation>> {
        let mut checker = Checker::default();
        let diameter = checker.take("diameter", Diameter::parse(&self.diameter));
        let class = checker.take_opt("class", self.class.as_deref(), ElectrodeClass::parse);
        if class == Some(ElectrodeClass::Unidentified) {
            let why = "a band is for a class that is known; leave it out for any class";
            checker.note("class", why);
        }
        let polarity = checker.take("polarity", Polarity::parse(&self.polarity));
        let wave = self.wave.as_deref();
        let setting = polarity.and_then(|polarity| setting(&mut checker, polarity, wave, false));
        let band = self.band(&mut checker);
        if self.source.trim().is_empty() {
            checker.note("source", "missing; say where the shop has it from");
        }
        checker.text("source", Some(&self.source), SOURCE_MAX);
        checker.finish()?;
        let (Some(diameter), Some(setting), Some(band)) = (diameter, setting, band) else {
            return Err(Vec::new());
        };
        Ok(CheckedBand {
            diameter,
            class,
            setting,
            band,
        })
    }

    fn band(&self, checker: &mut Checker) -> Option<Band> {
        Band::new(self.amps_min, self.amps_max)
            .map_err(|error| {
                let field = match error {
                    BandError::OutOfRange(amps) if amps == self.amps_min => "amps_min",
                    BandError::OutOfRange(_) | BandError::Reversed { .. } => "amps_max",
                };
                checker.note(field, error);
            })
            .ok()
    }
}
