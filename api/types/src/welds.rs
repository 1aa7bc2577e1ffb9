//! Weld lists: the welds of a job by shape, length and speed, from which its arc time, gas and filler
//! follow.

use domain::weld::{EFFICIENCY_PERCENT, Joint, Material, OVER_WELD_PERCENT, Weld, WeldWork};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::Checker;

/// Gas before each arc in milliseconds, unless told. Invented.
pub const PRE_FLOW_MS: i64 = 500;

/// Gas after each arc in milliseconds, unless told. Invented.
pub const POST_FLOW_MS: i64 = 8_000;

/// How many lines a weld list has at most.
pub const WELDS_MAX: usize = 500;

/// Welds of one shape.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WeldLine {
    /// The shape across: `fillet` with `leg_um`, `single-v` with `thickness_um`, `gap_um`,
    /// `root_face_um` and `angle_degrees`, or `bead` with `area_um2`.
    #[schema(example = "fillet")]
    pub joint: String,
    /// The leg of a fillet, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 3000, minimum = 500, maximum = 50_000)]
    pub leg_um: Option<i64>,
    /// The thickness of a plate with a single V, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 500, maximum = 100_000)]
    pub thickness_um: Option<i64>,
    /// The root gap of a single V, in micrometres; none unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 20_000)]
    pub gap_um: Option<i64>,
    /// The root face of a single V, in micrometres; none unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 100_000)]
    pub root_face_um: Option<i64>,
    /// The included angle of a single V, in degrees; 60 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 120)]
    pub angle_degrees: Option<i64>,
    /// The area of a bead, all passes together, in square micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 100_000, maximum = 5_000_000_000_i64)]
    pub area_um2: Option<i64>,
    /// How long the welds are in all, in millimetres.
    #[schema(example = 6000, minimum = 1, maximum = 10_000_000)]
    pub length_mm: i64,
    /// In how many passes; 1 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 1, minimum = 1, maximum = 100)]
    pub passes: Option<i64>,
    /// How fast the torch moves along the weld, in millimetres a minute.
    #[schema(example = 250, minimum = 5, maximum = 5000)]
    pub speed_mm_per_minute: i64,
    /// What the filler is made of: `steel`, `stainless` or `aluminium`.
    #[schema(example = "stainless")]
    pub material: String,
    /// The code of the filler rod; none is used unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "ER308L-1.6")]
    pub filler: Option<String>,
    /// How many times the arc is started; once for each 150 mm of each pass unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 1, maximum = 1_000_000)]
    pub starts: Option<i64>,
    /// What is welded in per cent of what is drawn; 120 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 120, minimum = 100, maximum = 300)]
    pub over_weld_percent: Option<i64>,
    /// How much of the filler ends in the weld, in per cent; 95 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 95, minimum = 10, maximum = 100)]
    pub efficiency_percent: Option<i64>,
}

/// The included angle of a single V, in degrees, unless told.
const ANGLE_DEGREES: i64 = 60;

/// The shapes that are known, and the figures that each may have.
const JOINTS: [(&str, &[&str]); 3] = [
    ("fillet", &["leg_um"]),
    (
        "single-v",
        &["thickness_um", "gap_um", "root_face_um", "angle_degrees"],
    ),
    ("bead", &["area_um2"]),
];

impl WeldLine {
    /// The weld and what it takes; none where a figure is wrong.
    pub fn worked(&self) -> Option<(Weld, WeldWork)> {
        let mut checker = Checker::default();
        let worked = self.check("", &mut checker);
        checker.finish().ok().and(worked)
    }

    /// The weld and what it takes; what is wrong is noted under `at`, the place of the line.
    pub(crate) fn check(&self, at: &str, checker: &mut Checker) -> Option<(Weld, WeldWork)> {
        let joint = self.joint(at, checker);
        let material = checker.take(&format!("{at}/material"), Material::parse(&self.material));
        let weld = Weld {
            joint: joint?,
            material: material?,
            length_mm: self.length_mm,
            passes: self.passes.unwrap_or(1),
            speed_mm_per_minute: self.speed_mm_per_minute,
            starts: self.starts,
            over_weld_percent: self.over_weld_percent.unwrap_or(OVER_WELD_PERCENT),
            efficiency_percent: self.efficiency_percent.unwrap_or(EFFICIENCY_PERCENT),
        };
        match weld.work() {
            Ok(work) => Some((weld, work)),
            Err(error) => {
                checker.note(&format!("{at}/{}", error.field()), error);
                None
            }
        }
    }

    fn joint(&self, at: &str, checker: &mut Checker) -> Option<Joint> {
        let word = self.joint.trim();
        let known = JOINTS
            .iter()
            .find(|(joint, _)| joint.eq_ignore_ascii_case(word));
        let Some((joint, figures)) = known else {
            let why = format!("\"{word}\" is unknown; give fillet, single-v or bead");
            checker.note(&format!("{at}/joint"), why);
            return None;
        };
        let given = [
            ("leg_um", self.leg_um),
            ("thickness_um", self.thickness_um),
            ("gap_um", self.gap_um),
            ("root_face_um", self.root_face_um),
            ("angle_degrees", self.angle_degrees),
            ("area_um2", self.area_um2),
        ];
        for (figure, value) in given {
            if value.is_some() && !figures.contains(&figure) {
                let why = format!("is not of a {joint}; leave it out, or give another joint");
                checker.note(&format!("{at}/{figure}"), why);
            }
        }
        let mut need = |figure: &str, value: Option<i64>| {
            let remedy = format!("a {joint} needs it");
            checker.need(&format!("{at}/{figure}"), value, &remedy)
        };
        Some(match *joint {
            "fillet" => Joint::Fillet {
                leg_um: need("leg_um", self.leg_um)?,
            },
            "bead" => Joint::Bead {
                area_um2: need("area_um2", self.area_um2)?,
            },
            _ => Joint::SingleV {
                thickness_um: need("thickness_um", self.thickness_um)?,
                gap_um: self.gap_um.unwrap_or(0),
                root_face_um: self.root_face_um.unwrap_or(0),
                angle_degrees: self.angle_degrees.unwrap_or(ANGLE_DEGREES),
            },
        })
    }
}
