//! The shapes of welds across, and their areas. How long a weld is and what it takes is in the
//! parent.

use super::{WeldError, within};
use crate::special::real;

/// The shape of a weld across. Lengths are in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Joint {
    /// A fillet with equal legs: half the square of the leg.
    Fillet {
        /// The leg, 500 to 50 000 um.
        leg_um: i64,
    },
    /// A single-V butt weld: gap x thickness + (thickness - root face)^2 x tan(angle / 2).
    SingleV {
        /// The thickness of the plate, 500 to 100 000 um.
        thickness_um: i64,
        /// The root gap, 0 to 20 000 um.
        gap_um: i64,
        /// The root face, 0 to the thickness.
        root_face_um: i64,
        /// The included angle in degrees, 0 (a square butt) to 120.
        angle_degrees: i64,
    },
    /// A bead whose area is given, 100 000 to 5 000 000 000 square micrometres (0.1 to 5 000 mm2).
    Bead {
        /// The area of all passes together.
        area_um2: i64,
    },
}

impl Joint {
    /// The drawn area in square millimetres.
    pub fn area_mm2(&self) -> f64 {
        let mm = |um: i64| real(u64::try_from(um).unwrap_or(0)) / 1_000.0;
        match *self {
            Self::Fillet { leg_um } => mm(leg_um) * mm(leg_um) / 2.0,
            Self::SingleV {
                thickness_um,
                gap_um,
                root_face_um,
                angle_degrees,
            } => {
                let open = mm(thickness_um - root_face_um);
                let half = real(u64::try_from(angle_degrees).unwrap_or(0)).to_radians() / 2.0;
                mm(gap_um) * mm(thickness_um) + open * open * half.tan()
            }
            Self::Bead { area_um2 } => mm(area_um2) / 1_000.0,
        }
    }

    /// Whether its figures are those of a weld.
    pub(super) fn check(&self) -> Result<(), WeldError> {
        match *self {
            Self::Fillet { leg_um } => within("leg_um", leg_um, "um", (500, 50_000)),
            Self::SingleV {
                thickness_um,
                gap_um,
                root_face_um,
                angle_degrees,
            } => {
                within("thickness_um", thickness_um, "um", (500, 100_000))?;
                within("gap_um", gap_um, "um", (0, 20_000))?;
                within("angle_degrees", angle_degrees, "degrees", (0, 120))?;
                within("root_face_um", root_face_um, "um", (0, 100_000))?;
                if root_face_um > thickness_um {
                    return Err(WeldError::RootFace {
                        root_face_um,
                        thickness_um,
                    });
                }
                Ok(())
            }
            Self::Bead { area_um2 } => {
                within("area_um2", area_um2, "um2", (100_000, 5_000_000_000))
            }
        }
    }
}
