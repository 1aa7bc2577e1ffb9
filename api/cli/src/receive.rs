//! `receive`: goods that came in, part by part or as a whole order.

use clap::Args;
use types::{NewArrival, NewReceipt};

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock receive WLa20-2.4 10
  tigstock receive WLa20-2.4 10 --order 3 --lot L-2231
  tigstock receive --order 3            all that is still to come of order 3";

/// Book in goods that came: pieces, not packs
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Receive {
    /// The code of the part; without it, all that is still to come of the order
    #[arg(required_unless_present = "order", requires = "quantity")]
    part: Option<String>,
    /// How many of the part's unit: pieces, not packs
    quantity: Option<i64>,
    /// The number of the order it belongs to
    #[arg(long, value_name = "N")]
    order: Option<i64>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Receive {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let at = Some(self.options.at(shop)?);
        let options = self.options;
        let entry = match (self.part, self.quantity, self.order) {
            (Some(part), Some(quantity), order) => Entry::Receipt(NewReceipt {
                part,
                quantity,
                order,
                at,
                device_at: None,
                clock_ahead_seconds: None,
                site: shop.site.clone(),
                group: options.group,
                job: options.job,
                lot: options.lot,
                by: options.by,
                note: options.note,
            }),
            (_, _, Some(order)) => {
                // A whole order has no lot, job, group or note of its own.
                let why = "belongs to one part; receive the parts of the order one by one with it";
                options.refuse(&["--lot", "--job", "--group", "--note"], why)?;
                Entry::Arrival {
                    order,
                    arrival: NewArrival {
                        lines: Vec::new(),
                        at,
                        by: options.by,
                    },
                }
            }
            (_, _, None) => {
                return Err(Failure::CommandLine(
                    "give a part and how many, or --order".into(),
                ));
            }
        };
        shop.record(entry).await
    }
}
