//! `changes`: what is to be done next, and what changed since somebody last looked.

use clap::Args;
use types::{Changes as Changed, GetChanges};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock changes                       the last two weeks
  tigstock changes --since 10d
  tigstock changes --since 2026-06-01
  tigstock changes --format csv > changes.csv";

/// Show what is to be done next, and what changed since you last looked
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Changes {
    /// Since when: days (10d) or weeks (2w) back, a day, or an instant; 2w unless told
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
}

impl Changes {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let query = GetChanges {
            since: self.since,
            site: shop.site.clone(),
            now: None,
        };
        let changed = shop.client.get_changes(&query).await?;
        shop.output
            .show_said(&changed, &in_words(&changed), &sheet(&changed));
        Ok(exit::DONE)
    }
}

/// One screen: what is to be done first, then what changed.
fn in_words(changed: &Changed) -> String {
    let mut lines = vec![changed.says.clone()];
    if !changed.next.is_empty() {
        lines.push(String::new());
        lines.push("What next".to_owned());
        lines.extend(changed.next.iter().map(|step| format!("  {}", step.says)));
        lines.extend(more(changed.more));
    }
    for group in &changed.groups {
        lines.push(String::new());
        lines.push(group.title.clone());
        lines.extend(group.lines.iter().map(|line| format!("  {}", line.says)));
        lines.extend(more(group.more));
    }
    lines.join("\n")
}

fn more(number: i64) -> Option<String> {
    (number > 0).then(|| format!("  and {number} more"))
}

/// A row for each line; what is to be done is the group `next`.
fn sheet(changed: &Changed) -> Sheet {
    let mut sheet = Sheet::new([
        ("group", ""),
        ("kind", ""),
        ("subject", ""),
        ("at", ""),
        ("quantity", ""),
        ("before", ""),
        ("after", ""),
        ("says", ""),
        ("as_of", ""),
    ]);
    let as_of = || Cell::Text(changed.to.to_rfc3339());
    for step in &changed.next {
        sheet.push([
            "next".into(),
            Cell::from(&step.kind),
            Cell::from(&step.subject),
            Cell::Text(step.at.to_rfc3339()),
            Cell::Nothing,
            Cell::Nothing,
            Cell::Nothing,
            Cell::from(&step.says),
            as_of(),
        ]);
    }
    let whole = |number: Option<i64>| number.map_or(Cell::Nothing, Cell::Whole);
    for group in &changed.groups {
        for line in &group.lines {
            let number = line
                .order
                .or(line.question)
                .map(|number| number.to_string());
            let subject = line.part.clone().or(number);
            sheet.push([
                Cell::from(&group.kind),
                Cell::Nothing,
                subject.map_or(Cell::Nothing, Cell::Text),
                line.at
                    .map_or(Cell::Nothing, |at| Cell::Text(at.to_rfc3339())),
                whole(line.quantity),
                whole(line.before),
                whole(line.after),
                Cell::from(&line.says),
                as_of(),
            ]);
        }
    }
    sheet
}
