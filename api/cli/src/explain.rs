//! `explain`: how the stock figure of a part came about, and what its forecast stands on. A torch is explained
//! in `torch_wear`.

use clap::Args;
use serde::Serialize;
use types::{Forecasts, GetForecasts, GetStock, ProblemKind, StockExplanation};

use crate::failure::{Failure, exit};
use crate::forecast;
use crate::past::Past;
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;
use crate::size::Size;
use crate::torch_wear;
use crate::why_out;

/// A month of work: long enough to see a part in, and known to every shop.
const WEEKS_DEFAULT: f64 = 4.0;

/// As many entries as fit on a screen with the rest.
const LINES: usize = 10;

const EXAMPLES: &str = "\
Without a size, the forecast is for four normal weeks of work.

Of a torch it tells whether it uses parts faster than the other torches of its site, since when, what was
changed then and what to check first. Exit codes for a torch: 0 nothing to check, 1 something to check.

Examples:
  tigstock explain WLa20-2.4
  tigstock explain WLa20-2.4 --arc 34h
  tigstock explain T2
  tigstock explain WLa20-2.4 --why-out
  tigstock explain WLa20-2.4 --as-of 2026-06-15T08:00:00-03:00 --known then";

/// Show how a stock figure came about and what a forecast stands on, or whether a torch wears parts faster
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Explain {
    /// The code of the part, or of a torch
    part: String,
    #[command(flatten)]
    size: Size,
    #[command(flatten)]
    past: Past,
    /// Say when it ran out, and how far unlogged use, late delivery, the forecast or a missing order is why
    #[arg(long, conflicts_with_all = ["arc", "grinds", "weeks", "as_of"])]
    why_out: bool,
    /// With --why-out: since when, such as 10d, 26w or a day; 26w unless told
    #[arg(long, value_name = "TIME", requires = "why_out")]
    since: Option<String>,
}

/// Both explanations.
#[derive(Serialize)]
struct Explained {
    stock: StockExplanation,
    forecast: Forecasts,
}

impl Explain {
    pub(crate) async fn run(mut self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if self.why_out {
            return why_out::run(&self.part, self.since, shop).await;
        }
        let is_sized = !self.size.is_empty();
        if !is_sized {
            self.size.weeks = Some(WEEKS_DEFAULT);
        }
        shop.send_waiting().await?;
        let query = GetStock {
            site: shop.site.clone(),
            as_of: self.past.as_of.clone(),
            known: self.past.known.clone(),
        };
        let stock = match shop.client.explain_stock(&self.part, &query).await {
            Ok(stock) => stock,
            // No such part; perhaps a torch. If it is none either, it was a part that was meant.
            Err(error) if error.is(ProblemKind::NotFound) => {
                if shop.client.get_torch(&self.part).await.is_err() {
                    return Err(error.into());
                } else if is_sized {
                    let why = format!("{} is a torch; leave out the size of the work", self.part);
                    return Err(Failure::CommandLine(why));
                }
                return torch_wear::explain(&self.part, &self.past, shop).await;
            }
            Err(error) => return Err(error.into()),
        };
        let parts = [self.part];
        let query = GetForecasts {
            as_of: self.past.as_of,
            known: self.past.known,
            ..forecast::query(&parts, &self.size, true, shop)
        };
        let forecast = shop.client.get_forecasts(&query).await?;
        let explained = Explained { stock, forecast };
        let sheet = explained.sheet();
        let stock = &explained.stock;
        shop.output.show_said(
            &explained,
            &format!("{}: {}", stock.stock.name, stock.says),
            &sheet,
        );
        for line in explained.newest(shop) {
            shop.output.say(&line);
        }
        shop.output
            .say(&format!("Use to come, {}:", in_words(&self.size)));
        forecast::say(&explained.forecast, shop.output);
        Ok(exit::DONE)
    }
}

impl Explained {
    /// How the stock figure came about, row by row: the count, and what moved since.
    fn sheet(&self) -> Sheet {
        let columns = [
            ("part", ""),
            ("site", ""),
            ("what", ""),
            ("quantity", ""),
            ("entries", ""),
        ];
        let mut sheet = Sheet::new(columns);
        let StockExplanation {
            stock,
            counted,
            moved,
            ..
        } = &self.stock;
        let mut row = |what: &str, quantity: i64, entries: Cell| {
            let (part, site) = (Cell::from(&stock.part), Cell::from(&stock.site));
            sheet.push([part, site, Cell::from(what), Cell::Whole(quantity), entries]);
        };
        row(
            "count",
            counted.unwrap_or(0),
            Cell::Whole(i64::from(counted.is_some())),
        );
        for moved in moved {
            row(&moved.kind, moved.quantity, Cell::Whole(moved.entries));
        }
        row("on hand", stock.on_hand, Cell::Nothing);
        sheet
    }
}

impl Explained {
    /// The newest entries behind the figure, a line each, with what was taken back.
    fn newest(&self, shop: &Shop<'_, '_>) -> Vec<String> {
        let entries = self.stock.entries.iter().take(LINES);
        let lines = entries.map(|entry| {
            let at = local_time(shop.env.zone.clock(&entry.at.to_utc()));
            let by = entry
                .by
                .as_ref()
                .map_or(String::new(), |by| format!(", {by}"));
            let back = match (entry.reverses, entry.reversed_by) {
                (Some(_), _) => ", takes an entry back",
                (None, Some(_)) => ", taken back",
                (None, None) => "",
            };
            let (change, kind, id) = (entry.change, &entry.kind, entry.entry);
            let why = entry
                .why
                .as_ref()
                .map_or(String::new(), |why| format!(" ({why})"));
            format!("  {at}  {change:+} {kind}{why}{by}{back}  {id}")
        });
        lines.collect()
    }
}

fn in_words(size: &Size) -> String {
    let arc = size.arc.map(|minutes| match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} minutes of arc time"),
        (hours, 0) => format!("{hours} h of arc time"),
        (hours, minutes) => format!("{hours} h {minutes} min of arc time"),
    });
    let grinds = size.grinds.map(|grinds| format!("{grinds} grinds"));
    let weeks = size.weeks.map(|weeks| format!("{weeks} normal weeks"));
    [arc, grinds, weeks]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" and ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_told_in_words() {
        let size = Size {
            arc: Some(2040),
            grinds: None,
            weeks: None,
        };
        assert_eq!(in_words(&size), "34 h of arc time");
        let size = Size {
            arc: Some(80),
            grinds: Some(5),
            weeks: None,
        };
        assert_eq!(in_words(&size), "1 h 20 min of arc time and 5 grinds");
        let size = Size {
            arc: None,
            grinds: None,
            weeks: Some(4.0),
        };
        assert_eq!(in_words(&size), "4 normal weeks");
    }
}
