//! `kit`: whether what is available makes a kit for a torch, what is missing, and how many kits stock
//! makes.

use clap::Args;
use types::{KitCheck, KitCheckLine, KitCounts, NewKitCounts, WantedKits};

use crate::failure::{Failure, exit};
use crate::fit::exit_code;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Exit codes: 0 complete, or all that are wanted can be made; 1 fewer than wanted; 2 incomplete, does not
fit, or not permitted at the site of the torch; 3 the seats of a part are not known.

Examples:
  tigstock kit T1 K-24G
  tigstock kit T1 K-short --format json
  tigstock kit --count K-24L K-24G        how many of each, no piece used twice
  tigstock kit --count K-24L=6 --site tarnbridge";

/// Say whether a kit is complete for a torch, or what is missing
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Kit {
    /// The torch and the kit; with --count the kits, each with how many are wanted, such as K-24L=6
    #[arg(required = true, value_name = "NAME")]
    names: Vec<String>,
    /// Say how many complete kits stock makes
    #[arg(long)]
    count: bool,
}

impl Kit {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        if self.count {
            return count(&self.names, shop).await;
        }
        let [torch, kit] = &self.names[..] else {
            return Err(Failure::CommandLine(
                "write a torch and a kit, such as tigstock kit T1 K-24G; or kits after --count"
                    .into(),
            ));
        };
        let checked = shop.client.check_kit(torch, kit).await?;
        shop.output.show_data(&checked, &sheet(&checked));
        for sentence in &checked.says {
            shop.output.say(sentence);
        }
        for sentence in &checked.assumes {
            shop.output.say(sentence);
        }
        for caution in &checked.cautions {
            shop.output.caution(caution);
        }
        Ok(exit_code(&checked.state))
    }
}

/// How many kits of each kind stock makes.
async fn count(names: &[String], shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    let kits: Result<Vec<WantedKits>, Failure> = names.iter().map(|name| wanted(name)).collect();
    let asked = NewKitCounts {
        kits: kits?,
        site: shop.site.clone(),
        one_more: true,
    };
    let told = shop.client.count_kits(&asked).await?;
    shop.output.show_data(&told, &count_sheet(&told));
    for sentence in &told.says {
        shop.output.say(sentence);
    }
    let is_less =
        |kit: &types::KitKindCount| kit.wanted.is_some_and(|wanted| kit.together < wanted);
    Ok(if told.kits.iter().any(is_less) {
        exit::TO_ORDER
    } else {
        exit::DONE
    })
}

/// `K-24L`, or `K-24L=6`.
fn wanted(name: &str) -> Result<WantedKits, Failure> {
    let Some((kit, wanted)) = name.split_once('=') else {
        return Ok(WantedKits {
            kit: name.to_owned(),
            wanted: None,
        });
    };
    let unreadable = |_| {
        Failure::CommandLine(format!(
            "\"{wanted}\" is not how many; write {kit}=6 for six of it"
        ))
    };
    Ok(WantedKits {
        kit: kit.to_owned(),
        wanted: Some(wanted.parse().map_err(unreadable)?),
    })
}

fn count_sheet(told: &KitCounts) -> Sheet {
    let mut sheet = Sheet::new([
        ("kit", "Kit"),
        ("wanted", "Wanted"),
        ("alone", "Alone"),
        ("together", "Together"),
        ("in_order", "In order"),
        ("as_of", ""),
    ]);
    for kit in &told.kits {
        sheet.push([
            Cell::from(&kit.kit),
            Cell::from(kit.wanted),
            Cell::Whole(kit.alone),
            Cell::Whole(kit.together),
            Cell::Whole(kit.in_order),
            Cell::Text(told.as_of.to_rfc3339()),
        ]);
    }
    sheet
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
