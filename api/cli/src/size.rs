//! How much use is to come, as a person gives it: arc time, grinds, or normal weeks.

use clap::Args;

use crate::grammar::arc_minutes;

/// How much use is to come.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Size {
    /// Arc time to come, with its unit: 34h, 75m, 1h20
    #[arg(long, value_name = "TIME", value_parser = arc_minutes)]
    pub arc: Option<i64>,
    /// Grinds to come
    #[arg(long, value_name = "N")]
    pub grinds: Option<i64>,
    /// Normal weeks of TIG work to come
    #[arg(long, value_name = "N")]
    pub weeks: Option<f64>,
}

impl Size {
    /// Whether nothing is given.
    pub(crate) fn is_empty(&self) -> bool {
        self.arc.is_none() && self.grinds.is_none() && self.weeks.is_none()
    }
}
