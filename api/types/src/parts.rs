//! Parts: one stock-keeping thing each, with the fields of its kind. The wire is flat, so that a
//! row of a sheet and a body of JSON look alike; `domain::PartSpec` is what it becomes.

use chrono::{DateTime, Utc};
use domain::class::ElectrodeClass;
use domain::code::Code;
use domain::exposure::Driver;
use domain::named::ParseNameError;
use domain::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, PartSpec};
use domain::size::{CupNumber, Diameter, RodLength};
use domain::wear::Gamma;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;

use crate::{Checker, Violation};

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
        /// Cup: the seat, `standard`, `gas-lens` or `large-gas-lens`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<String>,
        /// Shielding gas: the mixture. Filler rod: the classification.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        composition: Option<String>,
        /// The marking as printed on the part or its packet.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "3/32 in EWLa-2")]
        marking: Option<String>,
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
        /// What stock is counted in: `piece`, `millilitre` or `gram`.
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

impl NewPart {
    /// The specification, or everything that is wrong with it.
    ///
    /// # Errors
    /// One violation a field.
    pub fn spec(&self) -> Result<PartSpec, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("part", &self.code));
        checker.text("marking", self.marking.as_deref(), 80);
        checker.text("note", self.note.as_deref(), 400);
        checker.text("composition", self.composition.as_deref(), 80);
        for (index, assumption) in self.starting_assumptions.iter().enumerate() {
            checker.take(&format!("starting_assumptions/{index}"), assumption.gamma());
        }
        let kind = checker.take("kind", PartKind::parse(&self.kind));
        let spec = kind.and_then(|kind| self.spec_of(kind, &mut checker));
        let spec = spec.and_then(|spec| checker.take("arrangement", spec.validated()));
        checker.finish()?;
        spec.ok_or_else(|| vec![Violation::new("/kind", "is missing")])
    }

    fn spec_of(&self, kind: PartKind, checker: &mut Checker) -> Option<PartSpec> {
        self.refuse_foreign_fields(kind, checker);
        match kind {
            PartKind::Electrode => {
                let length = checker.take_opt("length", self.length.as_deref(), RodLength::parse);
                let class = self.class(checker);
                Some(PartSpec::Electrode {
                    class: class?,
                    diameter: self.diameter(checker)?,
                    length,
                })
            }
            PartKind::Collet => {
                let length = self.word(
                    "length",
                    self.length.as_deref().or(Some("standard")),
                    "standard or short",
                    ColletLength::parse,
                    checker,
                );
                let family = self.family(checker);
                Some(PartSpec::Collet {
                    diameter: self.diameter(checker)?,
                    length: length?,
                    family: family?,
                })
            }
            PartKind::ColletBody => {
                let (arrangement, family) =
                    (self.arrangement("standard", checker), self.family(checker));
                Some(PartSpec::ColletBody {
                    diameter: self.diameter(checker)?,
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::GasLens => {
                let (arrangement, family) =
                    (self.arrangement("gas-lens", checker), self.family(checker));
                Some(PartSpec::GasLens {
                    diameter: self.diameter(checker)?,
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::Cup => self.cup(checker),
            PartKind::BackCap => {
                let length = self.word(
                    "length",
                    self.length.as_deref(),
                    "short, medium or long",
                    CapLength::parse,
                    checker,
                );
                let family = self.family(checker);
                Some(PartSpec::BackCap {
                    length: length?,
                    family: family?,
                })
            }
            PartKind::ORing => Some(PartSpec::ORing {
                family: self.family(checker)?,
            }),
            PartKind::Insulator => {
                let (arrangement, family) =
                    (self.arrangement("standard", checker), self.family(checker));
                Some(PartSpec::Insulator {
                    arrangement: arrangement?,
                    family: family?,
                })
            }
            PartKind::ShieldingGas => {
                let mixture = checker.need(
                    "composition",
                    self.composition.clone(),
                    "give the mixture, such as \"argon\"",
                )?;
                Some(PartSpec::ShieldingGas { mixture })
            }
            PartKind::FillerRod => {
                let classification = checker.need(
                    "composition",
                    self.composition.clone(),
                    "give the classification on the packet",
                );
                Some(PartSpec::FillerRod {
                    diameter: self.diameter(checker)?,
                    classification: classification?,
                })
            }
            PartKind::TungstenWheel => Some(PartSpec::TungstenWheel),
        }
    }

    fn cup(&self, checker: &mut Checker) -> Option<PartSpec> {
        let number = checker
            .need(
                "cup_number",
                self.cup_number,
                "give the number of the cup, such as 7",
            )
            .and_then(|number| checker.take("cup_number", CupNumber::new(number)));
        let seat = self.word(
            "seat",
            self.seat.as_deref(),
            "standard, gas-lens or large-gas-lens",
            CupSeat::parse,
            checker,
        );
        let family = self.family(checker);
        Some(PartSpec::Cup {
            number: number?,
            seat: seat?,
            family: family?,
        })
    }

    fn class(&self, checker: &mut Checker) -> Option<ElectrodeClass> {
        let class = checker.need(
            "class",
            self.class.as_deref(),
            "give the class, such as WLa20, or unidentified",
        )?;
        checker.take("class", ElectrodeClass::parse(class))
    }

    fn diameter(&self, checker: &mut Checker) -> Option<Diameter> {
        let diameter = checker.need(
            "diameter",
            self.diameter.as_deref(),
            "give a named diameter, such as \"2.4 mm\"",
        )?;
        checker.take("diameter", Diameter::parse(diameter))
    }

    fn family(&self, checker: &mut Checker) -> Option<BodyFamily> {
        self.word(
            "family",
            self.family.as_deref(),
            "small or large",
            BodyFamily::parse,
            checker,
        )
    }

    fn arrangement(&self, usual: &str, checker: &mut Checker) -> Option<Arrangement> {
        self.word(
            "arrangement",
            self.arrangement.as_deref().or(Some(usual)),
            "standard, gas-lens, large-gas-lens or short-nose",
            Arrangement::parse,
            checker,
        )
    }

    fn word<T>(
        &self,
        field: &str,
        value: Option<&str>,
        choices: &str,
        parse: impl FnOnce(&str) -> Result<T, ParseNameError>,
        checker: &mut Checker,
    ) -> Option<T> {
        let word = checker.need(field, value, &format!("give {choices}"))?;
        checker.take(field, parse(word))
    }

    /// A field of another kind is a mistake that would otherwise be lost in silence.
    fn refuse_foreign_fields(&self, kind: PartKind, checker: &mut Checker) {
        use PartKind::{
            BackCap, Collet, ColletBody, Cup, Electrode, FillerRod, GasLens, Insulator, ORing,
            ShieldingGas,
        };
        let present: [(&str, bool, &[PartKind]); 8] = [
            ("class", self.class.is_some(), &[Electrode]),
            (
                "diameter",
                self.diameter.is_some(),
                &[Electrode, Collet, ColletBody, GasLens, FillerRod],
            ),
            (
                "length",
                self.length.is_some(),
                &[Electrode, Collet, BackCap],
            ),
            (
                "family",
                self.family.is_some(),
                &[Collet, ColletBody, GasLens, Cup, BackCap, ORing, Insulator],
            ),
            (
                "arrangement",
                self.arrangement.is_some(),
                &[ColletBody, GasLens, Insulator],
            ),
            ("cup_number", self.cup_number.is_some(), &[Cup]),
            ("seat", self.seat.is_some(), &[Cup]),
            (
                "composition",
                self.composition.is_some(),
                &[ShieldingGas, FillerRod],
            ),
        ];
        for (field, given, kinds) in present {
            if given && !kinds.contains(&kind) {
                checker.note(
                    field,
                    format!("a {} has no {field}; leave it out", kind.noun()),
                );
            }
        }
    }

    /// The wire form of a specification.
    pub fn from_spec(code: &str, spec: &PartSpec) -> Self {
        let mut part = Self {
            code: code.to_owned(),
            kind: spec.kind().as_str().to_owned(),
            ..Self::default()
        };
        let word = |word: &str| Some(word.to_owned());
        match spec {
            PartSpec::Electrode {
                class,
                diameter,
                length,
            } => {
                part.class = word(class.symbol());
                part.diameter = Some(diameter.to_string());
                part.length = length.map(|length| length.to_string());
            }
            PartSpec::Collet {
                diameter,
                length,
                family,
            } => {
                part.diameter = Some(diameter.to_string());
                part.length = word(length.as_str());
                part.family = word(family.as_str());
            }
            PartSpec::ColletBody {
                diameter,
                arrangement,
                family,
            }
            | PartSpec::GasLens {
                diameter,
                arrangement,
                family,
            } => {
                part.diameter = Some(diameter.to_string());
                part.arrangement = word(arrangement.as_str());
                part.family = word(family.as_str());
            }
            PartSpec::Cup {
                number,
                seat,
                family,
            } => {
                part.cup_number = Some(i64::from(number.get()));
                part.seat = word(seat.as_str());
                part.family = word(family.as_str());
            }
            PartSpec::BackCap { length, family } => {
                part.length = word(length.as_str());
                part.family = word(family.as_str());
            }
            PartSpec::ORing { family } => part.family = word(family.as_str()),
            PartSpec::Insulator {
                arrangement,
                family,
            } => {
                part.arrangement = word(arrangement.as_str());
                part.family = word(family.as_str());
            }
            PartSpec::ShieldingGas { mixture } => part.composition = word(mixture),
            PartSpec::FillerRod {
                classification,
                diameter,
            } => {
                part.composition = word(classification);
                part.diameter = Some(diameter.to_string());
            }
            PartSpec::TungstenWheel => {}
        }
        part
    }
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
