//! The ground tip of an electrode: taper and included angle, and the currents of the table by angle
//! and flat, which is never merged with the tables by diameter.

use super::current::Current;
use super::judge::Position;
use crate::size::Diameter;

/// The name of the taper rule.
pub const TAPER_RULE: &str =
    "taper 2.5 x diameter for DCEN, 2 to 3 x in print (common practice); angle by geometry";

/// Taper lengths worth telling, in diameters, and whether it is the usual one.
pub const TAPERS: [(f64, bool); 5] = [
    (1.0, false),
    (1.5, false),
    (2.0, false),
    (2.5, true),
    (3.0, false),
];

/// The included angle, in degrees, of a cone that is `taper` diameters long: `2 atan(1 / (2 k))`.
/// `taper` is above 0; a flat at the tip is left out of account.
///
/// ```
/// use tigstock_domain::advice::included_angle_degrees;
/// assert!((included_angle_degrees(2.5) - 22.62).abs() < 0.005);
/// ```
pub fn included_angle_degrees(taper: f64) -> f64 {
    (2.0 * libm::atan(1.0 / (2.0 * taper))).to_degrees()
}

/// The name of the table by angle and flat.
pub const TIP_TABLE: &str =
    "table by tip angle and flat, DCEN at constant current (common practice)";

/// One row of the table by angle and flat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TipRow {
    /// The flat at the tip, in mm.
    pub flat_mm: f64,
    /// The included angle, in degrees.
    pub angle_degrees: i64,
    /// The least current, in amperes.
    pub low: i64,
    /// The greatest current, in amperes.
    pub high: i64,
}

/// Diameter in micrometres, flat in mm, included angle in degrees, amperes. The print has 2.3 for
/// 2.4 mm.
const ROWS: [(i64, f64, i64, (i64, i64)); 8] = [
    (1000, 0.125, 12, (2, 15)),
    (1000, 0.25, 20, (5, 30)),
    (1600, 0.5, 25, (8, 50)),
    (1600, 0.8, 30, (10, 70)),
    (2400, 0.8, 35, (12, 90)),
    (2400, 1.1, 45, (15, 150)),
    (3200, 1.1, 60, (20, 200)),
    (3200, 1.5, 90, (25, 250)),
];

impl TipRow {
    /// Where a current lies against the currents of the row.
    pub fn position(&self, current: Current) -> Position {
        current.position(self.low, self.high)
    }
}

/// The rows of a diameter; none if the table does not have it. The currents are far below those of
/// the tables by diameter, since they are those at which a sharp tip lasts.
pub fn tip_rows(diameter: Diameter) -> Vec<TipRow> {
    let rows = ROWS.iter().filter(|row| row.0 == diameter.um());
    rows.map(|(_, flat_mm, angle_degrees, (low, high))| TipRow {
        flat_mm: *flat_mm,
        angle_degrees: *angle_degrees,
        low: *low,
        high: *high,
    })
    .collect()
}
