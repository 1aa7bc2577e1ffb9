//! `count`: what was counted in a drawer, which beats what the book says; or the list of what to count.

use clap::Args;
use types::{CountLine, GetCountList, NewCount};

use crate::entry::{Entry, EntryOptions};
use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const EXAMPLES: &str = "\
The list names the drawers where a count is most likely to change what you order, in the order of the
drawers, and not what the book says. Print it, write in what you find, or fill the CSV and import it.

Examples:
  tigstock count cup-7-gas-lens 5
  tigstock count collet-2.4 3 --drawer 14
  tigstock count collet-2.4 0 --at 18:00 --by helper
  tigstock count --list                        three drawers to count now
  tigstock count --list --all --format csv > counts.csv";

/// What a person writes the figure into.
const BLANK: &str = "______";

/// Say how many of a part there are, which beats the book; or list what to count
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Count {
    /// The code of the part
    #[arg(required_unless_present = "list", requires = "counted")]
    part: Option<String>,
    /// How many there are; none is 0
    #[arg(allow_negative_numbers = true)]
    counted: Option<i64>,
    /// The drawer it was counted in, to be sure that it is the right part
    #[arg(long, value_name = "DRAWER")]
    drawer: Option<String>,
    /// List what to count now
    #[arg(long, conflicts_with_all = ["part", "counted", "drawer"])]
    list: bool,
    /// With --list: how many drawers; 3 unless told
    #[arg(long, value_name = "N", requires = "list")]
    drawers: Option<i64>,
    /// With --list: every drawer
    #[arg(long, requires = "list", conflicts_with = "drawers")]
    all: bool,
    #[command(flatten)]
    options: EntryOptions,
}

impl Count {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let (Some(part), Some(counted)) = (&self.part, self.counted) else {
            return self.list(shop).await;
        };
        let at = Some(self.options.at(shop)?);
        let options = self.options;
        let count = NewCount {
            part: part.clone(),
            counted,
            drawer: self.drawer,
            at,
            site: shop.site.clone(),
            group: options.group,
            job: options.job,
            lot: options.lot,
            by: options.by,
            note: options.note,
            ..NewCount::default()
        };
        shop.record(Entry::Count(count)).await
    }

    async fn list(&self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let query = GetCountList {
            site: shop.site.clone(),
            drawers: self.drawers,
            all: self.all.then(|| "1".to_owned()),
            ..GetCountList::default()
        };
        let list = shop.client.get_count_list(&query).await?;
        let sheet = sheet(&list.lines, shop);
        shop.output.show(&list, &sheet);
        shop.output.gap();
        shop.output.say(&list.says);
        Ok(exit::DONE)
    }
}

/// The sheet: for people with a blank to write in, as CSV with the columns that `import` takes.
fn sheet(lines: &[CountLine], shop: &Shop<'_, '_>) -> Sheet {
    let mut sheet = Sheet::new([
        ("drawer", "Drawer"),
        ("part", "Part"),
        ("name", "Name"),
        ("unit", ""),
        ("counted", "Counted"),
        ("counted_at", ""),
        ("by", ""),
        ("why", "Why"),
        ("last_counted", "Last counted"),
    ]);
    for line in lines {
        let last = line
            .counted_at
            .as_ref()
            .map_or(Cell::Nothing, |at| Cell::Shown {
                value: at.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(at)),
            });
        sheet.push([
            Cell::from(&line.drawer),
            Cell::from(&line.part),
            Cell::from(&line.name),
            Cell::from(&line.unit),
            Cell::Shown {
                value: String::new(),
                shown: BLANK.to_owned(),
            },
            Cell::Nothing,
            Cell::Nothing,
            Cell::from(&line.why),
            last,
        ]);
    }
    sheet
}
