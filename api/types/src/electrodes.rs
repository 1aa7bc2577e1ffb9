//! Advice on electrodes for a current: what published tables and the shop's own bands say, and the
//! cup, argon, stickout and tip that go with a diameter. Always advice; nothing is refused by it.

use chrono::{DateTime, Utc};
use domain::advice::{Current, Metal, Polarity, Setting, Wave};
use domain::class::ElectrodeClass;
use domain::named::ParseNameError;
use domain::size::Diameter;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// What advice is asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetElectrodeAdvice {
    /// The current in amperes, over 0 and at most 2000.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(required = true, example = "125")]
    pub current: Option<String>,
    /// `DCEN`, `DCEP` or `AC`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(required = true, example = "DCEN")]
    pub polarity: Option<String>,
    /// The wave of alternating current, `balanced` or `unbalanced`; balanced unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "balanced")]
    pub wave: Option<String>,
    /// The electrode class. It decides the column of the tables; both columns are told without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "WLa20")]
    pub class: Option<String>,
    /// Only this diameter; every named one unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2.4 mm")]
    pub diameter: Option<String>,
    /// The metal, for the flow of argon: `aluminium`, `stainless` or `steel`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "stainless")]
    pub metal: Option<String>,
}

/// What advice is asked for, checked.
#[derive(Clone, Copy, Debug)]
pub struct ElectrodeQuestion {
    /// The current.
    pub current: Current,
    /// Polarity and wave.
    pub setting: Setting,
    /// Whether the wave was not told, so that a balanced one is assumed.
    pub wave_assumed: bool,
    /// The class, where it was told.
    pub class: Option<ElectrodeClass>,
    /// The diameter, where one was told.
    pub diameter: Option<Diameter>,
    /// The metal, where it was told.
    pub metal: Option<Metal>,
}

/// Advice on electrodes for a current.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ElectrodeAdvice {
    /// The current, in amperes.
    #[schema(example = 125.0)]
    pub amps: f64,
    /// `DCEN`, `DCEP` or `AC`.
    #[schema(example = "DCEN")]
    pub polarity: String,
    /// The wave of alternating current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wave: Option<String>,
    /// The class that was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<String>,
    /// The diameters that bands and tables favour, the smallest first; none if nothing does.
    pub recommended: Vec<String>,
    /// One row a diameter and column of the tables, the favoured ones first.
    pub verdicts: Vec<ElectrodeVerdict>,
    /// Cup, argon, stickout and tip for the diameter that was told, else for the recommended ones.
    pub diameters: Vec<DiameterAdvice>,
    /// How long the gas should flow on after the arc.
    pub post_flow: PostFlow,
    /// The answer in plain words; it ends by saying that it is advice.
    pub says: Vec<String>,
    /// What the advice assumes.
    pub assumes: Vec<String>,
    /// The cautions that go with it.
    pub cautions: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}

/// What bands and tables say of the current on one diameter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ElectrodeVerdict {
    /// The diameter.
    #[schema(example = "2.4 mm")]
    pub diameter: String,
    /// The column of the tables: `oxide`, `zirconiated` or `pure`.
    #[schema(example = "oxide")]
    pub column: String,
    /// What the published tables say together: `inside-all`, `inside-some`, `outside-all` or
    /// `not-listed`.
    #[schema(example = "inside-all")]
    pub verdict: String,
    /// The shop's own band, which goes before the tables.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop_band: Option<BandVerdict>,
    /// What each table says that has a range for it.
    pub tables: Vec<CurrentTableVerdict>,
    /// Whether it is among the favoured ones.
    pub recommended: bool,
    /// The same in a sentence.
    pub says: String,
}

/// What the shop's own band says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BandVerdict {
    /// The least current of the band, in amperes.
    pub amps_min: i64,
    /// The greatest current of the band, in amperes.
    pub amps_max: i64,
    /// The class that the band is for; absent if it is for any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<String>,
    /// Where the shop has it from.
    pub source: String,
    /// `below`, `inside` or `above`.
    pub position: String,
}

/// What one published table says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CurrentTableVerdict {
    /// The name of the table.
    #[schema(example = "AWS-style table, as reprinted (common practice)")]
    pub table: String,
    /// The least current of its range, in amperes; absent if it begins at nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amps_low: Option<i64>,
    /// The greatest current of its range, in amperes; absent if it does not use the electrode so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amps_high: Option<i64>,
    /// `below`, `inside`, `above` or `not-used`.
    pub position: String,
    /// How the table was read, where it tells less than was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Cup, argon, stickout and tip for a diameter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DiameterAdvice {
    /// The diameter.
    pub diameter: String,
    /// Cups and argon, one table beside the other.
    pub cups: Vec<CupTableAdvice>,
    /// The smallest cup by the rule.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minimum_cup: Option<MinimumCup>,
    /// How far the electrode may stand out.
    pub stickout: Stickout,
    /// Tapers and their angles.
    pub tapers: Vec<Taper>,
    /// The table by tip angle and flat; empty where it has no such diameter, or for other than DCEN.
    pub tips: Vec<TipAdvice>,
}

/// Cups and argon by one table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CupTableAdvice {
    /// The name of the table.
    pub table: String,
    /// The cups, smallest first.
    pub cups: Vec<CupBore>,
    /// The flows of argon; empty if the table has no column for the metal.
    pub flows: Vec<ArgonFlow>,
}

/// A cup with its bore.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CupBore {
    /// The cup number.
    #[schema(example = 7)]
    pub number: i64,
    /// The bore in inches.
    #[schema(example = "7/16")]
    pub inch: String,
    /// The bore in millimetres, by the number.
    #[schema(example = 11.113)]
    pub bore_mm: f64,
}

/// A flow of argon.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ArgonFlow {
    /// The metal; absent where the table does not tell one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metal: Option<String>,
    /// The least, in litres a minute.
    pub litres_per_minute_low: f64,
    /// The greatest, in litres a minute.
    pub litres_per_minute_high: f64,
    /// The least in cubic feet an hour, converted from the litres to one decimal.
    pub cubic_feet_per_hour_low: f64,
    /// The greatest in cubic feet an hour, converted from the litres to one decimal.
    pub cubic_feet_per_hour_high: f64,
}

/// The smallest cup by the rule of three diameters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MinimumCup {
    /// The cup number.
    #[schema(example = 6)]
    pub number: i64,
    /// The bore in inches.
    #[schema(example = "3/8")]
    pub inch: String,
    /// The next number that is usually sold, where this one is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usually_sold: Option<i64>,
    /// The rule.
    pub rule: String,
}

/// How far an electrode may stand out of the cup.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Stickout {
    /// At most so many millimetres.
    #[schema(example = 7.2)]
    pub mm: f64,
    /// At most so many millimetres with a gas lens in draught-free air.
    #[schema(example = 14.4)]
    pub gas_lens_mm: f64,
    /// The rules, and the other one by the cup bore.
    pub rule: String,
}

/// A taper of the tip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Taper {
    /// The length of the taper in diameters.
    #[schema(example = 2.5)]
    pub diameters: f64,
    /// The length in millimetres.
    #[schema(example = 6.0)]
    pub mm: f64,
    /// The included angle in degrees, to one decimal.
    #[schema(example = 22.6)]
    pub angle_degrees: f64,
    /// Whether it is the usual one for DCEN.
    pub usual: bool,
    /// The rule.
    pub rule: String,
}

/// A row of the table by tip angle and flat.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TipAdvice {
    /// The name of the table.
    pub table: String,
    /// The flat at the tip in millimetres.
    #[schema(example = 0.8)]
    pub flat_mm: f64,
    /// The included angle in degrees.
    #[schema(example = 35)]
    pub angle_degrees: i64,
    /// The least current, in amperes.
    pub amps_low: i64,
    /// The greatest current, in amperes.
    pub amps_high: i64,
    /// `below`, `inside` or `above`.
    pub position: String,
}

/// How long the gas should flow on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PostFlow {
    /// Seconds after the arc.
    #[schema(example = 12.5)]
    pub seconds: f64,
    /// The rule.
    pub rule: String,
}

impl GetElectrodeAdvice {
    /// What is asked, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<ElectrodeQuestion, Vec<Violation>> {
        let mut checker = Checker::default();
        let current = told(self.current.as_deref());
        let current = checker.need("current", current, "give amperes, such as 125");
        let current = current.and_then(|text| checker.take("current", Current::parse(text)));
        let polarity = told(self.polarity.as_deref());
        let polarity = checker.need("polarity", polarity, "give DCEN, DCEP or AC");
        let polarity = polarity.and_then(|text| checker.take("polarity", Polarity::parse(text)));
        let wave = self.wave.as_deref();
        let setting = polarity.and_then(|polarity| setting(&mut checker, polarity, wave, true));
        let class = self.class.as_deref();
        let class = checker.take_opt("class", class, ElectrodeClass::parse);
        let diameter = self.diameter.as_deref();
        let diameter = checker.take_opt("diameter", diameter, Diameter::parse);
        let metal = checker.take_opt("metal", self.metal.as_deref(), metal);
        checker.finish()?;
        let (Some(current), Some(setting)) = (current, setting) else {
            return Err(Vec::new());
        };
        Ok(ElectrodeQuestion {
            current,
            setting,
            wave_assumed: self.wave.is_none() && setting.polarity() == Polarity::Ac,
            class,
            diameter,
            metal,
        })
    }
}

/// What is told; nothing if it is blank.
fn told(text: Option<&str>) -> Option<&str> {
    text.filter(|text| !text.trim().is_empty())
}

/// Reads a metal, also in its American spelling.
fn metal(text: &str) -> Result<Metal, ParseNameError> {
    if text.trim().eq_ignore_ascii_case("aluminum") {
        return Ok(Metal::Aluminium);
    }
    Metal::parse(text)
}

/// The setting of a polarity and a wave. Alternating current without a wave is balanced where that
/// may be assumed; direct current has none.
pub(crate) fn setting(
    checker: &mut Checker,
    polarity: Polarity,
    wave: Option<&str>,
    assume: bool,
) -> Option<Setting> {
    let told = wave.is_some();
    let wave = checker.take_opt("wave", wave, Wave::parse);
    if polarity != Polarity::Ac && told {
        let why = format!("{} has no wave; leave it out", polarity.as_str());
        checker.note("wave", why);
    }
    let wave = match (polarity, wave) {
        (Polarity::Ac, None) if !told && assume => Some(Wave::Balanced),
        (Polarity::Ac, None) if !told => {
            checker.need("wave", None, "give balanced or unbalanced for AC")
        }
        (_, wave) => wave,
    };
    Setting::of(polarity, wave)
}
