//! `log`: arc time, grinds, cut-backs and starts on a torch.

use clap::Args;

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::grammar::understand;
use crate::shop::Shop;

const EXAMPLES: &str = "\
Units are required, in any order: 75m, 1h20 or 34h arc time, 3g grinds, 2c cut-backs, 40s starts.

Examples:
  tigstock log T1 75m 3g
  tigstock log T1 1h20 5g --job R-118 --group helper
  tigstock log T2 40m --at 16:30 --amps 120 --polarity DCEN

Where the server cannot be reached, the entry is kept here and sent with the next command.";

/// Log arc time, grinds, cut-backs and starts on a torch
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Log {
    /// The torch
    torch: String,
    /// What was done, each with its unit: 75m 3g
    #[arg(required = true, value_name = "DONE")]
    done: Vec<String>,
    /// Welding current in amperes
    #[arg(long, value_name = "A")]
    amps: Option<i64>,
    /// DCEN, DCEP or AC
    #[arg(long, value_name = "POLARITY")]
    polarity: Option<String>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Log {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let done =
            understand(&self.done).map_err(|error| Failure::CommandLine(error.to_string()))?;
        let mut usage = self.options.usage(shop)?;
        usage.torch = Some(self.torch);
        usage.arc_minutes = done.arc_minutes;
        usage.grinds = done.grinds;
        usage.cut_backs = done.cut_backs;
        usage.starts = done.starts;
        usage.amps = self.amps;
        usage.polarity = self.polarity;
        shop.record(Entry::Usage(usage)).await
    }
}
