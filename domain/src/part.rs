//! What a part is: its kind and that kind's own fields, and the words for it. What mates with what
//! is a matter of seats and is not here; nor is the code a shop gives the part.

use std::fmt;

use thiserror::Error;

use crate::class::ElectrodeClass;
use crate::size::{CupNumber, Diameter, RodLength};

mod names;
#[cfg(test)]
mod tests;

pub use names::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, Unit};

/// One kind of part with the fields that tell it from others of its kind.
///
/// Two parts with equal fields are interchangeable for fit. The marking as printed and the lot are
/// kept beside the part, not in it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum PartSpec {
    /// A tungsten electrode.
    Electrode {
        /// Its class.
        class: ElectrodeClass,
        /// Its named diameter.
        diameter: Diameter,
        /// Its length as delivered, where it matters.
        length: Option<RodLength>,
    },
    /// A collet.
    Collet {
        /// The electrode diameter it grips.
        diameter: Diameter,
        /// Standard, or short for short-nose bodies and large lenses.
        length: ColletLength,
        /// The torch body family it goes into.
        family: BodyFamily,
    },
    /// A collet body, of the standard or the short-nose arrangement.
    ColletBody {
        /// The electrode diameter it takes.
        diameter: Diameter,
        /// The arrangement it belongs to.
        arrangement: Arrangement,
        /// The torch body family it goes into.
        family: BodyFamily,
    },
    /// A gas lens, which takes the place of the collet body.
    GasLens {
        /// The electrode diameter it takes.
        diameter: Diameter,
        /// The arrangement it belongs to: gas lens, large gas lens or short nose.
        arrangement: Arrangement,
        /// The torch body family it goes into.
        family: BodyFamily,
    },
    /// A cup, told by number and by seat.
    Cup {
        /// Its number.
        number: CupNumber,
        /// What it seats on.
        seat: CupSeat,
        /// The torch body family it belongs to.
        family: BodyFamily,
    },
    /// A back cap.
    BackCap {
        /// How long it is.
        length: CapLength,
        /// The torch body family it goes onto.
        family: BodyFamily,
    },
    /// The O-ring of a back cap.
    ORing {
        /// The torch body family whose caps take it.
        family: BodyFamily,
    },
    /// An insulator, matched to an arrangement.
    Insulator {
        /// The arrangement it seats in.
        arrangement: Arrangement,
        /// The torch body family it goes onto.
        family: BodyFamily,
    },
    /// Shielding gas, counted in millilitres at normal conditions.
    ShieldingGas {
        /// The mixture, for instance by its ISO 14175 designation.
        mixture: String,
    },
    /// Filler rod, counted in grams.
    FillerRod {
        /// The classification of the rod, for instance by AWS A5.9 or A5.18.
        classification: String,
        /// Its named diameter.
        diameter: Diameter,
    },
    /// A grinding wheel that is kept for tungsten only.
    TungstenWheel,
}

/// Why fields do not make a part.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PartSpecError {
    /// A collet body belongs to the standard or the short-nose arrangement only.
    #[error("a collet body is of the standard or short-nose arrangement, not {}", .0.as_str())]
    ColletBodyArrangement(Arrangement),
    /// A gas lens belongs to one of the lens arrangements.
    #[error("a gas lens is of the gas-lens, large-gas-lens or short-nose arrangement, not {}", .0.as_str())]
    GasLensArrangement(Arrangement),
    /// A mixture or a classification is empty, longer than 64 characters, or holds control
    /// characters.
    #[error("the {0} must have 1 to 64 printable characters")]
    Text(&'static str),
}

/// The longest mixture or classification, in characters.
const TEXT_MAX: usize = 64;

impl PartSpec {
    /// The same fields, once they are known to belong together.
    ///
    /// # Errors
    /// [`PartSpecError`]: an arrangement that this kind of part does not have, or an empty or
    /// overlong text.
    pub fn validated(self) -> Result<Self, PartSpecError> {
        match &self {
            Self::ColletBody { arrangement, .. }
                if !matches!(arrangement, Arrangement::Standard | Arrangement::ShortNose) =>
            {
                Err(PartSpecError::ColletBodyArrangement(*arrangement))
            }
            Self::GasLens {
                arrangement: arrangement @ Arrangement::Standard,
                ..
            } => Err(PartSpecError::GasLensArrangement(*arrangement)),
            Self::ShieldingGas { mixture } if !is_label(mixture) => {
                Err(PartSpecError::Text("mixture"))
            }
            Self::FillerRod { classification, .. } if !is_label(classification) => {
                Err(PartSpecError::Text("classification"))
            }
            Self::Electrode { .. }
            | Self::Collet { .. }
            | Self::ColletBody { .. }
            | Self::GasLens { .. }
            | Self::Cup { .. }
            | Self::BackCap { .. }
            | Self::ORing { .. }
            | Self::Insulator { .. }
            | Self::ShieldingGas { .. }
            | Self::FillerRod { .. }
            | Self::TungstenWheel => Ok(self),
        }
    }

    /// The kind, without its fields.
    pub fn kind(&self) -> PartKind {
        match self {
            Self::Electrode { .. } => PartKind::Electrode,
            Self::Collet { .. } => PartKind::Collet,
            Self::ColletBody { .. } => PartKind::ColletBody,
            Self::GasLens { .. } => PartKind::GasLens,
            Self::Cup { .. } => PartKind::Cup,
            Self::BackCap { .. } => PartKind::BackCap,
            Self::ORing { .. } => PartKind::ORing,
            Self::Insulator { .. } => PartKind::Insulator,
            Self::ShieldingGas { .. } => PartKind::ShieldingGas,
            Self::FillerRod { .. } => PartKind::FillerRod,
            Self::TungstenWheel => PartKind::TungstenWheel,
        }
    }

    /// The electrode class, if the part is an electrode.
    pub fn class(&self) -> Option<ElectrodeClass> {
        if let Self::Electrode { class, .. } = self {
            Some(*class)
        } else {
            None
        }
    }

    /// One line that names the part: `Electrode WLa20 2.4 mm`, `Cup no. 7, gas-lens seat`.
    ///
    /// A cup of the large family says nothing of its family, since its seat and number are what
    /// is read aloud at the drawer; one of the small family says so.
    pub fn describe(&self) -> String {
        match self {
            Self::Electrode {
                class,
                diameter,
                length,
            } => {
                let length = length.map_or_else(String::new, |length| format!(", {length} long"));
                format!("Electrode {class} {diameter}{length}")
            }
            Self::Collet {
                diameter,
                length,
                family,
            } => {
                let short = match length {
                    ColletLength::Standard => "",
                    ColletLength::Short => ", short",
                };
                format!("Collet {diameter}{short}, {family}")
            }
            Self::ColletBody {
                diameter,
                arrangement,
                family,
            } => {
                format!("Collet body {diameter}{}, {family}", pattern(*arrangement))
            }
            Self::GasLens {
                diameter,
                arrangement,
                family,
            } => {
                format!("Gas lens {diameter}{}, {family}", pattern(*arrangement))
            }
            Self::Cup {
                number,
                seat,
                family,
            } => {
                let family = match family {
                    BodyFamily::Large => String::new(),
                    BodyFamily::Small => format!(", {family}"),
                };
                format!("Cup no. {number}, {} seat{family}", seat.as_str())
            }
            Self::BackCap { length, family } => format!("Back cap, {}, {family}", length.as_str()),
            Self::ORing { family } => format!("O-ring, back cap, {family}"),
            Self::Insulator {
                arrangement,
                family,
            } => format!("{}, {family}", insulator(*arrangement)),
            Self::ShieldingGas { mixture } => format!("Shielding gas {mixture}"),
            Self::FillerRod {
                classification,
                diameter,
            } => {
                format!("Filler rod {classification} {diameter}")
            }
            Self::TungstenWheel => "Tungsten wheel".to_owned(),
        }
    }
}

/// An insulator is told by what it seats in, since the standard one does not seat on a lens.
fn insulator(arrangement: Arrangement) -> &'static str {
    match arrangement {
        Arrangement::Standard => "Standard insulator",
        Arrangement::GasLens => "Insulator for gas lens",
        Arrangement::LargeGasLens => "Insulator for large gas lens",
        Arrangement::ShortNose => "Insulator for short nose",
    }
}

/// What is said of an arrangement where the noun does not already say it.
fn pattern(arrangement: Arrangement) -> &'static str {
    match arrangement {
        Arrangement::Standard | Arrangement::GasLens => "",
        Arrangement::LargeGasLens => ", large diameter",
        Arrangement::ShortNose => ", short nose",
    }
}

fn is_label(text: &str) -> bool {
    let length = text.chars().count();
    !text.trim().is_empty() && length <= TEXT_MAX && !text.chars().any(char::is_control)
}

impl fmt::Display for PartSpec {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.describe())
    }
}
