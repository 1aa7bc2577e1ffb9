//! A swap of the gas cylinder, as an entry of use tells it.

use domain::gas::GasFlow;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::Checker;

/// A gas cylinder that is swapped, as a clock: what it held, over the flow, less the gas before and
/// after each arc.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCylinderSwap {
    /// What the cylinder held, in litres at the pressure of the air, less what is still in it.
    #[schema(example = 8400, minimum = 1, maximum = 1_000_000)]
    pub litres: i64,
    /// The flow, with its unit.
    #[schema(example = "8 L/min")]
    pub flow: String,
    /// How often the arc was started since the swap before; what was logged as starts unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 900, minimum = 0, maximum = 1_000_000)]
    pub starts: Option<i64>,
    /// Seconds of gas before each arc; 0 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 0.5, minimum = 0, maximum = 600)]
    pub pre_flow_seconds: Option<f64>,
    /// Seconds of gas after each arc; 0 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 8.0, minimum = 0, maximum = 600)]
    pub post_flow_seconds: Option<f64>,
    /// Litres that went into purging; none unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub purge_litres: Option<i64>,
}

impl NewCylinderSwap {
    /// Notes what is wrong with it.
    pub(crate) fn check(&self, checker: &mut Checker) {
        checker.range("cylinder/litres", self.litres, 1, 1_000_000);
        checker.take("cylinder/flow", GasFlow::parse(&self.flow));
        if let Some(starts) = self.starts {
            checker.range("cylinder/starts", starts, 0, 1_000_000);
        }
        for (field, seconds) in [
            ("cylinder/pre_flow_seconds", self.pre_flow_seconds),
            ("cylinder/post_flow_seconds", self.post_flow_seconds),
        ] {
            if seconds.is_some_and(|seconds| !(0.0..=600.0).contains(&seconds)) {
                checker.note(field, "is out of range; give 0 to 600 seconds");
            }
        }
        let purged = self.purge_litres.unwrap_or(0);
        if !(0..self.litres.max(1)).contains(&purged) {
            let why = format!(
                "{purged} L is not part of the {} L of the cylinder; give less",
                self.litres
            );
            checker.note("cylinder/purge_litres", why);
        }
    }
}
