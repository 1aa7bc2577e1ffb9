//! `transfer`: pieces that move from one site to another.

use clap::Args;
use types::{DEFAULT_SITE, NewTransfer};

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::shop::Shop;

const EXAMPLES: &str = "\
It is refused, and nothing moves, if the other site does not permit the electrode class.

Examples:
  tigstock transfer WTh20-2.4 5 --from shop --to yard
  tigstock transfer cup-7-gas-lens 2 --to tarnbridge --by helper";

/// Move pieces to another site
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Transfer {
    /// The code of the part
    part: String,
    /// How many
    quantity: i64,
    /// The site that they leave; the one of --site, else the first one, unless told
    #[arg(long, value_name = "SITE")]
    from: Option<String>,
    /// The site that they come to
    #[arg(long, value_name = "SITE")]
    to: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Transfer {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let why = "has no place here: pieces that move are not used";
        self.options.refuse(&["--job", "--group"], why)?;
        let from = self.from.or_else(|| shop.site.clone());
        let transfer = NewTransfer {
            part: self.part,
            quantity: self.quantity,
            from: from.unwrap_or_else(|| DEFAULT_SITE.to_owned()),
            to: self.to,
            why: self.why,
            at: Some(self.options.at(shop)?),
            device_at: None,
            clock_ahead_seconds: None,
            lot: self.options.lot,
            by: self.options.by,
            note: self.options.note,
        };
        shop.record(Entry::Transfer(transfer)).await
    }
}
