//! `log`: arc time, grinds, cut-backs and starts on a torch.

use clap::Args;
use types::NewCylinderSwap;

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::grammar::{arc_minutes, understand};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Units are required, in any order: 75m, 1h20 or 34h arc time, 3g grinds, 2c cut-backs, 40s starts.

Examples:
  tigstock log T1 75m 3g
  tigstock log T1 1h20 5g --job R-118 --group helper
  tigstock log T2 40m --at 16:30 --amps 120 --polarity DCEN
  tigstock log T1 --arc-timer 1240h
  tigstock log T1 --cylinder 8400 --flow 8L/min --starts 900 --pre-flow 0.5 --post-flow 8

An arc timer and a swapped gas cylinder are clocks: the arc time since the last reading or swap on the
same torch is logged, less what was logged meanwhile.

Where the server cannot be reached, the entry is kept here and sent with the next command.";

/// Log arc time, grinds, cut-backs and starts on a torch
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Log {
    /// The torch
    torch: String,
    /// What was done, each with its unit: 75m 3g
    #[arg(required_unless_present_any = ["arc_timer", "cylinder"], value_name = "DONE")]
    done: Vec<String>,
    /// What the arc timer of the power source stands at: 1240h or 1240h30
    #[arg(long, value_name = "ARC", conflicts_with = "cylinder")]
    arc_timer: Option<String>,
    /// The arc timer was reset or changed: count from this reading
    #[arg(long, requires = "arc_timer")]
    timer_restarted: bool,
    /// The gas cylinder was swapped: the litres it held, less what is still in it
    #[arg(long, value_name = "LITRES", requires = "flow")]
    cylinder: Option<i64>,
    /// The flow, with --cylinder: 8L/min or 17cfh
    #[arg(long, value_name = "FLOW", requires = "cylinder")]
    flow: Option<String>,
    /// Starts since the swap before, with --cylinder; those that were logged unless told
    #[arg(long, value_name = "N", requires = "cylinder")]
    starts: Option<i64>,
    /// Seconds of gas before each arc, with --cylinder
    #[arg(long, value_name = "SECONDS", requires = "cylinder")]
    pre_flow: Option<f64>,
    /// Seconds of gas after each arc, with --cylinder
    #[arg(long, value_name = "SECONDS", requires = "cylinder")]
    post_flow: Option<f64>,
    /// Litres that went into purging, with --cylinder
    #[arg(long, value_name = "LITRES", requires = "cylinder")]
    purge: Option<i64>,
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
        let arc_timer = self.arc_timer.as_deref().map(arc_minutes).transpose();
        let arc_timer = arc_timer.map_err(|error| Failure::CommandLine(error.to_string()))?;
        let cylinder = self
            .cylinder
            .zip(self.flow)
            .map(|(litres, flow)| NewCylinderSwap {
                litres,
                flow,
                starts: self.starts,
                pre_flow_seconds: self.pre_flow,
                post_flow_seconds: self.post_flow,
                purge_litres: self.purge,
            });
        let mut usage = self.options.usage(shop)?;
        usage.arc_timer_minutes = arc_timer;
        usage.arc_timer_restarted = self.timer_restarted;
        usage.cylinder = cylinder.map(Box::new);
        usage.torch = Some(self.torch);
        usage.arc_minutes = done.arc_minutes;
        usage.grinds = done.grinds;
        usage.cut_backs = done.cut_backs;
        usage.starts = done.starts;
        usage.amps = self.amps;
        usage.polarity = self.polarity;
        shop.record(Entry::Usage(Box::new(usage))).await
    }
}
