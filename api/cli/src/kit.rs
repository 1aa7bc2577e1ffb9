//! `kit`: whether what is available makes a kit for a torch, and what is missing.

use clap::Args;
use types::{KitCheck, KitCheckLine};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Exit codes: 0 complete; 2 incomplete, or not permitted at the site of the torch.

Examples:
  tigstock kit T1 K-24G
  tigstock kit T1 K-short --format json";

/// Say whether a kit is complete for a torch, or what is missing
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Kit {
    /// The torch
    torch: String,
    /// The kit
    kit: String,
}

impl Kit {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let checked = shop.client.check_kit(&self.torch, &self.kit).await?;
        shop.output.show_data(&checked, &sheet(&checked));
        for sentence in checked.says.iter().chain(&checked.assumes) {
            shop.output.say(sentence);
        }
        for caution in &checked.cautions {
            shop.output.caution(caution);
        }
        Ok(exit_code(&checked))
    }
}

/// A kit that wants a part blocks the work.
fn exit_code(checked: &KitCheck) -> u8 {
    if checked.state == "complete" {
        exit::DONE
    } else {
        exit::BLOCKED
    }
}

fn sheet(checked: &KitCheck) -> Sheet {
    let mut sheet = Sheet::new([
        ("torch", ""),
        ("kit", ""),
        ("state", ""),
        ("part", ""),
        ("name", "Part"),
        ("quantity", "In the kit"),
        ("available", "Available"),
        ("missing", "Missing"),
        ("stubs", ""),
        ("held_because", ""),
        ("as_of", ""),
    ]);
    for line in &checked.lines {
        sheet.push(row(checked, line));
    }
    sheet
}

fn row(checked: &KitCheck, line: &KitCheckLine) -> [Cell; 11] {
    let because = line.held_because.as_ref();
    [
        Cell::from(&checked.torch),
        Cell::from(&checked.kit),
        Cell::from(&checked.state),
        Cell::from(&line.part),
        Cell::from(&line.name),
        Cell::Whole(line.quantity),
        Cell::Whole(line.available),
        Cell::Whole(line.missing),
        Cell::from(line.stubs),
        because.map_or(Cell::Nothing, Cell::from),
        Cell::Text(checked.as_of.to_rfc3339()),
    ]
}
