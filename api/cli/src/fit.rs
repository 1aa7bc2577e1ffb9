//! `fit`: parts fitted on a torch, or tried on it, and whether they go together at their seats.

use clap::Args;
use types::{FitCheck, FitQuery, NewFit};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Fitting takes nothing from the drawers: log what was taken with tigstock take.

Exit codes: 0 complete; 2 incomplete, does not fit, or not permitted at the site of the torch; 3 the
seats of a part are not known. With 2 or 3 a part may still have been fitted: the answer says so.

Examples:
  tigstock fit T1 cup-7 --try            does it fit? If not, what would
  tigstock fit T1 body-2.4 insulator-std cup-7
  tigstock fit T2 o-ring                 a new one of the O-ring that is fitted in T2
  tigstock fit T1 o-ring-large --from T4 borrowed from T4; the other way round puts it back";

/// Fit parts on a torch in the place of what sits there, or try whether they fit
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Fit {
    /// The torch
    torch: String,
    /// The parts, by code, or by kind for a new one of what is fitted
    #[arg(required = true, value_name = "PART")]
    parts: Vec<String>,
    /// Say whether they fit, and change nothing
    #[arg(long = "try")]
    only_try: bool,
    /// The torch that lends them; it is incomplete until they are put back
    #[arg(long, value_name = "TORCH")]
    from: Option<String>,
    /// The job that it is for, whose procedure decides what is offered
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
}

impl Fit {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let new = NewFit {
            parts: self.parts,
            from: self.from,
            job: self.job,
        };
        let query = FitQuery {
            try_only: self.only_try.then_some(1),
        };
        let told = shop.client.create_fit(&self.torch, &new, &query).await?;
        shop.output.show_data(&told, &sheet(&told));
        for sentence in &told.says {
            shop.output.say(sentence);
        }
        for sentence in &told.assumes {
            shop.output.say(sentence);
        }
        for caution in &told.cautions {
            shop.output.caution(caution);
        }
        Ok(exit_code(&told.state))
    }
}

/// What is not complete blocks the work; what cannot be told is neither.
pub(crate) fn exit_code(state: &str) -> u8 {
    match state {
        "complete" => exit::DONE,
        "cannot tell" => exit::UNKNOWN,
        _ => exit::BLOCKED,
    }
}

/// The faults and the ways out, one row each.
fn sheet(told: &FitCheck) -> Sheet {
    let mut sheet = Sheet::new([
        ("torch", ""),
        ("state", ""),
        ("row", ""),
        ("joint", ""),
        ("parts", ""),
        ("available", ""),
        ("says", ""),
        ("as_of", ""),
    ]);
    let cells = |row: &str, joint: Option<&String>, parts: String, there: Cell, says: &String| {
        [
            Cell::from(&told.torch),
            Cell::from(&told.state),
            Cell::Text(row.to_owned()),
            joint.map_or(Cell::Nothing, Cell::from),
            Cell::Text(parts),
            there,
            Cell::from(says),
            Cell::Text(told.as_of.to_rfc3339()),
        ]
    };
    for fault in &told.faults {
        let parts = fault.parts.join(" ");
        let row = cells(
            &fault.what,
            fault.joint.as_ref(),
            parts,
            Cell::Nothing,
            &fault.says,
        );
        sheet.push(row);
    }
    for (number, way) in told.ways.iter().enumerate() {
        let row = format!("way {}", number + 1);
        for choice in &way.choices {
            for part in &choice.parts {
                let there = Cell::Whole(part.available);
                sheet.push(cells(
                    &row,
                    Some(&choice.seat),
                    part.part.clone(),
                    there,
                    &way.says,
                ));
            }
        }
    }
    sheet
}
