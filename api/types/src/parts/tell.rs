//! From the specification of the domain to the flat fields of the wire.

use domain::part::{Arrangement, BodyFamily, PartSpec};
use domain::size::Diameter;

use super::NewPart;

impl NewPart {
    /// The wire form of a specification.
    pub fn from_spec(code: &str, spec: &PartSpec) -> Self {
        let mut part = Self {
            code: code.to_owned(),
            kind: spec.kind().as_str().to_owned(),
            ..Self::default()
        };
        match spec {
            PartSpec::Electrode {
                class,
                diameter,
                length,
            } => {
                part.class = Some(class.symbol().to_owned());
                part.diameter = Some(diameter.to_string());
                part.length = length.map(|length| length.to_string());
            }
            PartSpec::Collet {
                diameter,
                length,
                family,
            } => {
                part.diameter = Some(diameter.to_string());
                part.length = Some(length.as_str().to_owned());
                part.family = Some(family.as_str().to_owned());
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
                part.body(*diameter, *arrangement, *family);
            }
            PartSpec::Cup {
                number,
                seat,
                family,
            } => {
                part.cup_number = Some(i64::from(number.get()));
                part.seat = Some(seat.as_str().to_owned());
                part.family = Some(family.as_str().to_owned());
            }
            PartSpec::BackCap { length, family } => {
                part.length = Some(length.as_str().to_owned());
                part.family = Some(family.as_str().to_owned());
            }
            PartSpec::ORing { family } => part.family = Some(family.as_str().to_owned()),
            PartSpec::Insulator {
                arrangement,
                family,
            } => {
                part.arrangement = Some(arrangement.as_str().to_owned());
                part.family = Some(family.as_str().to_owned());
            }
            PartSpec::ShieldingGas { mixture } => part.composition = Some(mixture.to_owned()),
            PartSpec::FillerRod {
                classification,
                diameter,
            } => {
                part.composition = Some(classification.to_owned());
                part.diameter = Some(diameter.to_string());
            }
            PartSpec::TungstenWheel => {}
        }
        part
    }

    fn body(&mut self, diameter: Diameter, arrangement: Arrangement, family: BodyFamily) {
        self.diameter = Some(diameter.to_string());
        self.arrangement = Some(arrangement.as_str().to_owned());
        self.family = Some(family.as_str().to_owned());
    }
}
