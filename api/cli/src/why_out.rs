//! When a part ran out, and why: `explain` with `--why-out`.

use types::{GetRunOuts, RunOuts};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

/// Shows when a part ran out, and how the blame is split.
pub(crate) async fn run(
    part: &str,
    since: Option<String>,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    shop.send_waiting().await?;
    let query = GetRunOuts {
        since,
        site: shop.site.clone(),
        now: None,
    };
    let told = shop.client.list_run_outs(part, &query).await?;
    shop.output
        .show_said(&told, &in_words(&told), &sheet(&told));
    Ok(exit::DONE)
}

fn in_words(told: &RunOuts) -> String {
    if told.run_outs.is_empty() {
        return told.says.clone();
    }
    let mut lines = Vec::new();
    for run_out in &told.run_outs {
        lines.push(run_out.says.clone());
        for cause in &run_out.causes {
            lines.push(format!("  {:3.0} %  {}", cause.share * 100.0, cause.says));
        }
    }
    if told.more > 0 {
        lines.push(format!("And {} more before.", told.more));
    }
    lines.extend(told.assumes.iter().cloned());
    lines.join("\n")
}

/// A row for each cause of each run-out.
fn sheet(told: &RunOuts) -> Sheet {
    let mut sheet = Sheet::new([
        ("part", ""),
        ("site", ""),
        ("from", ""),
        ("until", ""),
        ("cause", ""),
        ("pieces", ""),
        ("share", ""),
        ("says", ""),
        ("as_of", ""),
    ]);
    for run_out in &told.run_outs {
        for cause in &run_out.causes {
            sheet.push([
                Cell::from(&told.part),
                Cell::from(&told.site),
                Cell::Text(run_out.from.to_rfc3339()),
                run_out
                    .until
                    .map_or(Cell::Nothing, |until| Cell::Text(until.to_rfc3339())),
                Cell::from(&cause.cause),
                Cell::Real {
                    value: cause.pieces,
                    shown: format!("{:.1}", cause.pieces),
                },
                Cell::chance(cause.share),
                Cell::from(&cause.says),
                Cell::Text(told.as_of.to_rfc3339()),
            ]);
        }
    }
    sheet
}
