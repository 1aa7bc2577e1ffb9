//! `scrap`, `hold` and `release`: pieces that are thrown away unused, set aside, or freed again.

use clap::Args;
use domain::ledger::MovementKind;
use types::NewMovement;

use crate::entry::{Entry, EntryOptions};
use crate::failure::Failure;
use crate::shop::Shop;

const SCRAP_EXAMPLES: &str = "\
Examples:
  tigstock scrap collet-2.4 2 --why \"split in the drawer\"
  tigstock scrap WTh20-2.4 10 --site tarnbridge";

const HOLD_EXAMPLES: &str = "\
Examples:
  tigstock hold WLa20-2.4 4 --why \"packet was open\"
  tigstock hold cup-7-gas-lens";

const RELEASE_EXAMPLES: &str = "\
Examples:
  tigstock release WLa20-2.4 4
  tigstock release cup-7-gas-lens --why \"looked over\"";

/// Throw pieces away unused; they are no use, and wear nothing
#[derive(Debug, Args)]
#[command(after_help = SCRAP_EXAMPLES)]
pub(crate) struct Scrap {
    #[command(flatten)]
    pieces: Pieces,
}

/// Set pieces aside: in the drawer, not to be used
#[derive(Debug, Args)]
#[command(after_help = HOLD_EXAMPLES)]
pub(crate) struct Hold {
    #[command(flatten)]
    pieces: Pieces,
}

/// Free pieces that were set aside
#[derive(Debug, Args)]
#[command(after_help = RELEASE_EXAMPLES)]
pub(crate) struct Release {
    #[command(flatten)]
    pieces: Pieces,
}

#[derive(Debug, Args)]
struct Pieces {
    /// The code of the part
    part: String,
    /// How many
    #[arg(default_value_t = 1)]
    quantity: i64,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Pieces {
    async fn record(self, kind: MovementKind, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let moved = movement((self.part, self.quantity), kind, self.options, shop)?;
        let moved = NewMovement {
            why: self.why,
            ..moved
        };
        shop.record(Entry::Movement(moved)).await
    }
}

/// A movement of that kind.
pub(crate) fn movement(
    (part, quantity): (String, i64),
    kind: MovementKind,
    options: EntryOptions,
    shop: &Shop<'_, '_>,
) -> Result<NewMovement, Failure> {
    Ok(NewMovement {
        part,
        kind: kind.as_str().to_owned(),
        quantity,
        why: None,
        at: Some(options.at(shop)?),
        device_at: None,
        clock_ahead_seconds: None,
        site: shop.site.clone(),
        group: options.group,
        job: options.job,
        lot: options.lot,
        by: options.by,
        note: options.note,
    })
}

impl Scrap {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        self.pieces.record(MovementKind::Scrap, shop).await
    }
}

impl Hold {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        self.pieces.record(MovementKind::Hold, shop).await
    }
}

impl Release {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        self.pieces.record(MovementKind::Release, shop).await
    }
}
