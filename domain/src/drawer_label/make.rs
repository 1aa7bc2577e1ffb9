//! A part from its fields, and the code that is proposed for it.

use super::Fields;
use crate::part::{Arrangement, BodyFamily, CapLength, ColletLength, PartKind, PartSpec};

impl Fields {
    /// The part, if every field that its kind has is known. Only the length of an electrode may be open.
    pub fn spec(&self) -> Option<PartSpec> {
        let spec = match self.kind? {
            PartKind::Electrode => PartSpec::Electrode {
                class: self.class?,
                diameter: self.diameter?,
                length: self.rod_length,
            },
            PartKind::Collet => PartSpec::Collet {
                diameter: self.diameter?,
                length: self.collet_length?,
                family: self.family?,
            },
            PartKind::ColletBody => PartSpec::ColletBody {
                diameter: self.diameter?,
                arrangement: self.arrangement?,
                family: self.family?,
            },
            PartKind::GasLens => PartSpec::GasLens {
                diameter: self.diameter?,
                arrangement: self.arrangement?,
                family: self.family?,
            },
            PartKind::Cup => PartSpec::Cup {
                number: self.cup?,
                seat: self.seat?,
                family: self.family?,
            },
            PartKind::BackCap => PartSpec::BackCap {
                length: self.cap_length?,
                family: self.family?,
            },
            PartKind::ORing => PartSpec::ORing {
                family: self.family?,
            },
            PartKind::Insulator => PartSpec::Insulator {
                arrangement: self.arrangement?,
                family: self.family?,
            },
            PartKind::ShieldingGas => PartSpec::ShieldingGas {
                mixture: self.composition.clone()?,
            },
            PartKind::FillerRod => PartSpec::FillerRod {
                classification: self.composition.clone()?,
                diameter: self.diameter?,
            },
            PartKind::TungstenWheel => PartSpec::TungstenWheel,
        };
        spec.validated().ok()
    }

    /// What is known of a part that is known.
    pub fn of(spec: &PartSpec) -> Self {
        let mut all = Self {
            kind: Some(spec.kind()),
            ..Self::default()
        };
        match spec.clone() {
            PartSpec::Electrode {
                class,
                diameter,
                length,
            } => {
                (all.class, all.diameter, all.rod_length) = (Some(class), Some(diameter), length);
            }
            PartSpec::Collet {
                diameter,
                length,
                family,
            } => {
                (all.diameter, all.family) = (Some(diameter), Some(family));
                all.collet_length = Some(length);
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
                (all.diameter, all.family) = (Some(diameter), Some(family));
                all.arrangement = Some(arrangement);
            }
            PartSpec::Cup {
                number,
                seat,
                family,
            } => (all.cup, all.seat, all.family) = (Some(number), Some(seat), Some(family)),
            PartSpec::BackCap { length, family } => {
                (all.cap_length, all.family) = (Some(length), Some(family));
            }
            PartSpec::ORing { family } => all.family = Some(family),
            PartSpec::Insulator {
                arrangement,
                family,
            } => (all.arrangement, all.family) = (Some(arrangement), Some(family)),
            PartSpec::ShieldingGas { mixture } => all.composition = Some(mixture),
            PartSpec::FillerRod {
                classification,
                diameter,
            } => {
                (all.composition, all.diameter) = (Some(classification), Some(diameter));
            }
            PartSpec::TungstenWheel => {}
        }
        all
    }
}

/// A code for a part that has none: `WLa20-2.4`, `cup-7-gas-lens`, `collet-2.4-short`. Parts that differ have codes
/// that differ; the usual case, a large body and the plain pattern, goes without saying.
pub fn code(spec: &PartSpec) -> String {
    let known = Fields::of(spec);
    let kind = spec.kind();
    let mut pieces = match (kind, known.class) {
        (_, Some(class)) => vec![class.to_string()],
        (PartKind::FillerRod | PartKind::ShieldingGas, _) => {
            vec![plain(&known.composition.unwrap_or_default())]
        }
        _ => vec![kind.as_str().to_owned()],
    };
    pieces.extend(known.cup.map(|it| it.to_string()));
    pieces.extend(known.diameter.map(|it| plain(&it.to_string())));
    pieces.extend(known.rod_length.map(|it| plain(&it.to_string())));
    pieces.extend(known.seat.map(|it| it.as_str().to_owned()));
    let arrangement = known
        .arrangement
        .filter(|it| !goes_without_saying(kind, *it));
    pieces.extend(arrangement.map(|it| it.as_str().to_owned()));
    let collet = known.collet_length.filter(|it| *it == ColletLength::Short);
    pieces.extend(collet.map(|it| it.as_str().to_owned()));
    pieces.extend(known.cap_length.map(CapLength::as_str).map(str::to_owned));
    let small = known.family.filter(|it| *it == BodyFamily::Small);
    pieces.extend(small.map(|it| it.as_str().to_owned()));
    pieces.join("-")
}

fn goes_without_saying(kind: PartKind, arrangement: Arrangement) -> bool {
    matches!(
        (kind, arrangement),
        (PartKind::ColletBody, Arrangement::Standard) | (PartKind::GasLens, Arrangement::GasLens)
    )
}

/// Without its unit, and with letters, digits, full stops and hyphens only.
fn plain(text: &str) -> String {
    let text = text.trim().trim_end_matches(" mm");
    let letters = text.chars().map(|letter| {
        let is_kept = letter.is_ascii_alphanumeric() || letter == '.';
        if is_kept { letter } else { '-' }
    });
    letters.collect()
}
