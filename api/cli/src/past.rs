//! The past as a person asks for it: as of which instant, and whether as it was known then.

use clap::Args;

use crate::instant::parse_now;

/// The options of commands that can show the past.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Past {
    /// Show what stood at an instant that is past
    #[arg(long, value_name = "TIME", value_parser = parse_now)]
    pub(crate) as_of: Option<String>,
    /// With --as-of: "then" for what was known at that time, "now" for what is known today of it
    #[arg(long, value_name = "THEN|NOW", requires = "as_of", value_parser = ["then", "now"])]
    pub(crate) known: Option<String>,
}
