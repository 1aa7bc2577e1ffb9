//! `match`: what of the stock is what a written procedure asks for, and why the rest is not.

use clap::Args;
use types::{GetMatch, MatchRow, ProcedureMatch};

use crate::failure::{Failure, exit};
use crate::instant::parse_now;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Nothing makes a part match that the procedure does not permit. The ways out are a signed equivalence
for a marking, another part, or a new revision of the procedure.

Exit codes: 0 enough matches; 1 too few, and somebody offers one that matches; 2 blocked: a
signature is needed, or nothing that is permitted is there or offered; 3 could not tell.

Examples:
  tigstock match PROC-07 --need 8
  tigstock match PROC-07 --part cup-7-gas-lens --need 2
  tigstock match PROC-07 --revision 1 --format csv";

/// Say what of the stock is what a written procedure asks for, and why the rest is not
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Match {
    /// The procedure
    procedure: String,
    /// How many electrodes are needed, or pieces of the part; one unless told
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(i64).range(1..=1_000_000))]
    need: Option<i64>,
    /// Only this part
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// The revision; the newest unless told
    #[arg(long, value_name = "N")]
    revision: Option<i64>,
    /// The instant by which revisions and signatures count; the present unless told
    #[arg(long, value_name = "TIME", value_parser = parse_now)]
    now: Option<String>,
}

impl Match {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let query = GetMatch {
            need: self.need,
            part: self.part,
            site: shop.site.clone(),
            revision: self.revision,
            now: self.now,
        };
        let found = shop.client.match_procedure(&self.procedure, &query).await?;
        shop.output.show_data(&found, &sheet(&found));
        for sentence in &found.says {
            shop.output.say(sentence);
        }
        for caution in &found.cautions {
            shop.output.caution(caution);
        }
        Ok(exit_code(&found))
    }
}

/// 0 all enough, 1 something to order, 2 blocked, 3 could not tell.
fn exit_code(found: &ProcedureMatch) -> u8 {
    if found.short == 0 {
        exit::DONE
    } else if !found.cannot_tell.is_empty() {
        exit::UNKNOWN
    } else if found.pending == 0 && !found.to_order.is_empty() {
        exit::TO_ORDER
    } else {
        exit::BLOCKED
    }
}

fn sheet(found: &ProcedureMatch) -> Sheet {
    let mut sheet = Sheet::new([
        ("procedure", ""),
        ("revision", ""),
        ("site", ""),
        ("state", ""),
        ("part", ""),
        ("name", ""),
        ("kind", ""),
        ("stub", ""),
        ("marking", ""),
        ("quantity", ""),
        ("unit", ""),
        ("available", ""),
        ("usable", ""),
        ("lots", ""),
        ("verdict", ""),
        ("reason", ""),
        ("equivalence", ""),
        ("signed_at", ""),
        ("as_of", ""),
    ]);
    for row in &found.rows {
        sheet.push(cells(found, row));
    }
    sheet
}

fn cells(found: &ProcedureMatch, row: &MatchRow) -> [Cell; 19] {
    let lots = row.lots.iter();
    let lots: Vec<String> = lots
        .map(|it| format!("{} ({})", it.lot, it.quantity))
        .collect();
    let signed_at = row.signed_at.map(|at| Cell::Text(at.to_rfc3339()));
    [
        Cell::from(&found.procedure),
        Cell::Whole(found.revision),
        Cell::from(&found.site),
        Cell::from(&found.state),
        Cell::from(&row.part),
        Cell::from(&row.name),
        Cell::from(&row.kind),
        Cell::from(if row.stub { "yes" } else { "no" }),
        Cell::from(&row.marking),
        Cell::Whole(row.quantity),
        Cell::from(&row.unit),
        Cell::Whole(row.available),
        Cell::Whole(row.usable),
        Cell::Text(lots.join("; ")),
        Cell::from(&row.verdict),
        Cell::from(&row.reason),
        Cell::from(&row.equivalence),
        signed_at.unwrap_or(Cell::Nothing),
        Cell::Text(found.as_of.to_rfc3339()),
    ]
}
