//! `count`: what was counted in a drawer. A count beats what the book says.

use clap::Args;
use types::NewCount;

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock count cup-7-gas-lens 5
  tigstock count collet-2.4 3 --drawer 14
  tigstock count collet-2.4 0 --at 18:00 --by helper";

/// Say how many of a part there are; it beats what the book says
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Count {
    /// The code of the part
    part: String,
    /// How many there are; none is 0
    #[arg(allow_negative_numbers = true)]
    counted: i64,
    /// The drawer it was counted in, to be sure that it is the right part
    #[arg(long, value_name = "DRAWER")]
    drawer: Option<String>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Count {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let at = Some(self.options.at(shop)?);
        let options = self.options;
        let count = NewCount {
            part: self.part,
            counted: self.counted,
            drawer: self.drawer,
            at,
            device_at: None,
            clock_ahead_seconds: None,
            site: shop.site.clone(),
            group: options.group,
            job: options.job,
            lot: options.lot,
            by: options.by,
            note: options.note,
            ..NewCount::default()
        };
        shop.record(Entry::Count(count)).await
    }
}
