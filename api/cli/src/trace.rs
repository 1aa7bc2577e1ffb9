//! `trace`: where the pieces of a lot went, and holding what is left.

use clap::Args;
use types::{GetTrace, NewLotHold, Trace as Traced};
use uuid::Uuid;

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const EXAMPLES: &str = "\
A lot is traced because somebody doubts it, so what is left of it goes on hold, unless told.

Examples:
  tigstock trace L-2231 --why \"notice of the supplier\"
  tigstock trace L-2231 --look             only look
  tigstock trace L-2231 --release          free what is on hold";

/// Trace a lot: which jobs got it, what is left and where; and put what is left on hold
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Trace {
    /// The lot, as on its packet
    lot: String,
    /// The part, where two parts have lots of the same name
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// Only look; hold nothing
    #[arg(long, conflicts_with = "release")]
    look: bool,
    /// Free what is on hold
    #[arg(long)]
    release: bool,
    /// Why it is put on hold or freed
    #[arg(long, value_name = "TEXT", conflicts_with = "look")]
    why: Option<String>,
    /// Who does it
    #[arg(long, value_name = "NAME", conflicts_with = "look")]
    by: Option<String>,
}

impl Trace {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        if self.look {
            let query = GetTrace { part: self.part };
            let trace = shop.client.trace_lot(&self.lot, &query).await?;
            show(&trace, &trace, shop);
            return Ok(exit::DONE);
        }
        let new = NewLotHold {
            part: self.part,
            why: self.why,
            by: self.by,
        };
        let key = Uuid::now_v7().to_string();
        let held = if self.release {
            shop.client.release_lot(&self.lot, &new, &key).await?
        } else {
            shop.client.hold_lot(&self.lot, &new, &key).await?
        };
        show(&held, &held.trace, shop);
        let done = if self.release { "freed" } else { "put on hold" };
        shop.output.say(&format!("{} {done} now.", held.pieces));
        Ok(exit::DONE)
    }
}

fn show(answer: &impl serde::Serialize, trace: &Traced, shop: &mut Shop<'_, '_>) {
    let mut sheet = Sheet::new([
        ("lot", ""),
        ("part", ""),
        ("what", "What"),
        ("place", "Where"),
        ("site", "Site"),
        ("quantity", "Pieces"),
        ("first_at", "First"),
        ("last_at", "Last"),
        ("groups", "Group"),
        ("by", "By"),
    ]);
    for line in &trace.lines {
        let time = |at: Option<&chrono::DateTime<chrono::FixedOffset>>| {
            at.map_or(Cell::Nothing, |at| Cell::Shown {
                value: at.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(&at.to_utc())),
            })
        };
        sheet.push([
            Cell::from(&trace.lot),
            Cell::from(&trace.part),
            Cell::from(&line.what),
            Cell::from(&line.place),
            Cell::from(&line.site),
            Cell::Whole(line.quantity),
            time(line.first_at.as_ref()),
            time(line.last_at.as_ref()),
            Cell::Text(line.groups.join(", ")),
            Cell::Text(line.by.join(", ")),
        ]);
    }
    shop.output.show(answer, &sheet);
    shop.output.say(&trace.says);
}
