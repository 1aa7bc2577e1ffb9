//! A list of welds: for each the arc time, the starts and the filler that follow from its shape. The
//! shapes are in `joint`; gas is in [`gas`](crate::gas); what a shop has and lacks is elsewhere.

use thiserror::Error;

use crate::exposure::ArcTime;
use crate::named::named;
use crate::quantity::QUANTITY_MAX;
use crate::special::{count_at_or_below, real};

mod joint;
#[cfg(test)]
mod tests;

pub use joint::Joint;

/// How much is welded more than drawn, in per cent of the drawn area, unless told: a bead bulges and
/// a hand is generous (common practice; a printed metric table is the flat triangle times 1.20).
pub const OVER_WELD_PERCENT: i64 = 120;

/// How much of the filler ends in the weld, in per cent, unless told. Printed figures for TIG are 92
/// to 98; a 2 in stub on a 36 in rod alone is 94.4.
pub const EFFICIENCY_PERCENT: i64 = 95;

/// A start for each so many millimetres of a pass, unless the starts are told. Invented.
pub const START_EVERY_MM: i64 = 150;

named! {
    /// What is welded, as far as the density of the filler goes.
    Material, "material" {
        /// Steel.
        Steel = "steel",
        /// Stainless steel.
        Stainless = "stainless",
        /// Aluminium.
        Aluminium = "aluminium",
    }
}

impl Material {
    /// The density in milligrams a cubic centimetre: steel 7 850, stainless 7 950, aluminium 2 700
    /// (common practice).
    pub fn density(self) -> u32 {
        match self {
            Self::Steel => 7_850,
            Self::Stainless => 7_950,
            Self::Aluminium => 2_700,
        }
    }
}

/// One line of a weld list: welds of one shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Weld {
    /// Its shape across.
    pub joint: Joint,
    /// What the filler is made of.
    pub material: Material,
    /// How long it is in all, in millimetres, 1 to 10 000 000.
    pub length_mm: i64,
    /// In how many passes it is laid, 1 to 100.
    pub passes: i64,
    /// How fast the torch moves along it, in millimetres a minute, 5 to 5 000.
    pub speed_mm_per_minute: i64,
    /// How many times the arc is started, 1 to 1 000 000; one for each [`START_EVERY_MM`] of each
    /// pass unless told.
    pub starts: Option<i64>,
    /// Welded area in per cent of the drawn one, 100 to 300.
    pub over_weld_percent: i64,
    /// Filler that ends in the weld, in per cent, 10 to 100.
    pub efficiency_percent: i64,
}

/// What one line of a weld list takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct WeldWork {
    /// How long the arc burns.
    pub arc: ArcTime,
    /// How many times it is started.
    pub starts: i64,
    /// The filler in grams, rounded up.
    pub filler_g: i64,
}

/// Why a line of a weld list cannot be worked out.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WeldError {
    /// A figure that no weld has.
    #[error("{value} {unit} is out of range; give {min} to {max} {unit}")]
    OutOfRange {
        /// Which figure, by the name of its field.
        field: &'static str,
        /// The number given.
        value: i64,
        /// Its unit.
        unit: &'static str,
        /// The smallest that is taken.
        min: i64,
        /// The largest that is taken.
        max: i64,
    },
    /// A root face that is thicker than the plate.
    #[error(
        "a root face of {root_face_um} um is more than the thickness of {thickness_um} um; give less"
    )]
    RootFace {
        /// The root face.
        root_face_um: i64,
        /// The thickness.
        thickness_um: i64,
    },
    /// More arc time than is ever counted.
    #[error(
        "{length_mm} mm in {passes} passes at {speed} mm/min is more than 100 000 arc hours; \
             check the length and the speed"
    )]
    TooLong {
        /// The length.
        length_mm: i64,
        /// The passes.
        passes: i64,
        /// The speed.
        speed: i64,
    },
    /// More filler than is ever counted.
    #[error("the weld takes more than {QUANTITY_MAX} g of filler; check its area and its length")]
    TooHeavy,
}

impl WeldError {
    /// The field that it is about, as a line of a weld list names it.
    pub fn field(&self) -> &'static str {
        match self {
            Self::OutOfRange { field, .. } => field,
            Self::RootFace { .. } => "root_face_um",
            Self::TooLong { .. } | Self::TooHeavy => "length_mm",
        }
    }
}

impl Weld {
    /// The arc time, length x passes / speed; the starts; and the filler, area x length x density x
    /// over-weld / efficiency.
    ///
    /// The area is that of all passes together, and each pass runs at the speed.
    ///
    /// ```
    /// use tigstock_domain::weld::{EFFICIENCY_PERCENT, Joint, Material, OVER_WELD_PERCENT, Weld};
    /// let weld = Weld {
    ///     joint: Joint::Fillet { leg_um: 3_000 },
    ///     material: Material::Stainless,
    ///     length_mm: 6_000,
    ///     passes: 1,
    ///     speed_mm_per_minute: 250,
    ///     starts: None,
    ///     over_weld_percent: OVER_WELD_PERCENT,
    ///     efficiency_percent: EFFICIENCY_PERCENT,
    /// };
    /// let work = weld.work()?;
    /// assert_eq!(work.arc.to_string(), "24 min");
    /// assert_eq!(work.starts, 40);
    /// assert_eq!(work.filler_g, 272); // 4.5 mm2 x 6 m x 7.95 x 1.2 / 0.95 = 271.1 g
    /// # Ok::<(), tigstock_domain::weld::WeldError>(())
    /// ```
    ///
    /// # Errors
    /// [`WeldError`] with the field and its range.
    pub fn work(&self) -> Result<WeldWork, WeldError> {
        self.check()?;
        let starts = self
            .starts
            .unwrap_or_else(|| self.passes * (1 + (self.length_mm - 1) / START_EVERY_MM));
        let travel = self.length_mm * self.passes;
        let seconds = (travel * 60 + self.speed_mm_per_minute - 1) / self.speed_mm_per_minute;
        let arc = ArcTime::from_seconds(seconds).map_err(|_| WeldError::TooLong {
            length_mm: self.length_mm,
            passes: self.passes,
            speed: self.speed_mm_per_minute,
        })?;
        let percent = |of: i64| real(u64::try_from(of).unwrap_or(0)) / 100.0;
        let deposited = deposit_g(
            self.joint.area_mm2(),
            self.length_mm,
            f64::from(self.material.density()) / 1_000.0,
        );
        let filler = deposited * percent(self.over_weld_percent) / percent(self.efficiency_percent);
        let filler_g = i64::try_from(whole_up(filler)).unwrap_or(i64::MAX);
        if filler_g > QUANTITY_MAX {
            return Err(WeldError::TooHeavy);
        }
        Ok(WeldWork {
            arc,
            starts,
            filler_g,
        })
    }

    fn check(&self) -> Result<(), WeldError> {
        self.joint.check()?;
        within("length_mm", self.length_mm, "mm", (1, 10_000_000))?;
        within("passes", self.passes, "passes", (1, 100))?;
        let speed = self.speed_mm_per_minute;
        within("speed_mm_per_minute", speed, "mm/min", (5, 5_000))?;
        if let Some(starts) = self.starts {
            within("starts", starts, "starts", (1, 1_000_000))?;
        }
        let (over, efficiency) = (self.over_weld_percent, self.efficiency_percent);
        within("over_weld_percent", over, "per cent", (100, 300))?;
        within("efficiency_percent", efficiency, "per cent", (10, 100))
    }
}

/// The weight of a weld in grams: area in square millimetres x length in millimetres x density in
/// grams a cubic centimetre.
///
/// ```
/// // Printed: a fillet of 1/2 in in steel of 0.283 lb a cubic inch weighs 0.4245 lb a foot.
/// let area = 12.7 * 12.7 / 2.0;
/// let grams = tigstock_domain::weld::deposit_g(area, 3_048, 7.833_4) / 10.0;
/// assert!((grams / 453.592_37 - 0.4245).abs() < 5e-5);
/// ```
pub fn deposit_g(area_mm2: f64, length_mm: i64, density_g_per_cm3: f64) -> f64 {
    let length = real(u64::try_from(length_mm).unwrap_or(0));
    area_mm2 * length * density_g_per_cm3 / 1_000.0
}

/// The weight of a filler rod in grams, from its diameter and its length in micrometres.
pub fn rod_g(diameter_um: i64, length_um: i64, material: Material) -> f64 {
    let mm = |um: i64| real(u64::try_from(um).unwrap_or(0)) / 1_000.0;
    let area = std::f64::consts::FRAC_PI_4 * mm(diameter_um) * mm(diameter_um);
    area * mm(length_um) * f64::from(material.density()) / 1e6
}

/// How many rods hold so many grams, rounded up; none for nothing. A rod without weight is not
/// counted.
pub fn rods(grams: i64, rod_g: f64) -> u64 {
    if grams <= 0 || rod_g.is_nan() || rod_g <= 0.0 {
        return 0;
    }
    whole_up(real(u64::try_from(grams).unwrap_or(0)) / rod_g)
}

/// The whole number at or above `x`; what is whole on paper stays, though its last place may differ.
fn whole_up(x: f64) -> u64 {
    let below = count_at_or_below(x * (1.0 - 1e-12));
    below + u64::from(x > 0.0 && real(below) < x * (1.0 - 1e-12))
}

/// A figure within its range, or the error that names it.
fn within(
    field: &'static str,
    value: i64,
    unit: &'static str,
    (min, max): (i64, i64),
) -> Result<(), WeldError> {
    if (min..=max).contains(&value) {
        return Ok(());
    }
    Err(WeldError::OutOfRange {
        field,
        value,
        unit,
        min,
        max,
    })
}
