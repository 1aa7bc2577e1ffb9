//! `import`: a sheet is pushed into a table. The service reads it and judges its rows, so that every way of pushing
//! gives one answer; here a long file is cut into parts, and what became of the rows is shown.

use std::fs;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};
use types::{PushSheet, PushedSheet, SheetTable};

use crate::failure::{Failure, exit};
use crate::instant::parse_at;
use crate::shop::Shop;

mod cut;
mod judged;
mod set_up;

use cut::Cut;

const EXAMPLES: &str = "\
CSV (parted by commas, semicolons or tabs), XLSX or ODS. Each row is judged alone: what is right goes in,
what is not comes back with what to do. The table is told by the columns, or by --table:

  counts    drawer, part, counted, counted_at, by
  usage     row_id, when, torch, part, qty, arc, grinds, job, what
  receipts  when, part, qty
  courses   date, heads, stations
  parts     part, kind
  offers    supplier, part, pack_size, price

These must be there, a cell may be empty; more may be there, see `POST /v1/sheets/{table}`. Arc time has
its unit: 75m, 1h20. A sheet that `tigstock export` wrote can be imported.

A row without row_id gets an id that follows from what it says and where it stands, so that importing a
file again is harmless. A long CSV file is sent in parts of 2000 rows, each tried or recorded by itself.

Examples:
  tigstock import counts.csv --try             say what would become of each row
  tigstock import counts.xlsx --apply --at 18:00 --by helper
  tigstock import usage.csv --apply --format csv > back.csv
                                               the same sheet, with result and what to do
  tigstock import prices.ods --table offers --apply --all-or-none
  tigstock import drawers.csv --set-up --family large --try
                                               set up parts, drawers and first counts from a list of
                                               drawers in your own words
  tigstock import drawers.csv --set-up --apply --format csv > asked.csv
                                               the list with what was understood, and a question where
                                               something is open: fill in, and import it again";

/// The table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Table {
    /// What was counted
    Counts,
    /// What was used
    Usage,
    /// What came in
    Receipts,
    /// Courses to set up
    Courses,
    /// Parts to set up
    Parts,
    /// Who sells what, and at which price
    Offers,
}

impl Table {
    const fn sheet(self) -> SheetTable {
        match self {
            Self::Counts => SheetTable::Counts,
            Self::Usage => SheetTable::Usage,
            Self::Receipts => SheetTable::Receipts,
            Self::Courses => SheetTable::Courses,
            Self::Parts => SheetTable::Parts,
            Self::Offers => SheetTable::Offers,
        }
    }
}

/// Take over a sheet of counts, use, receipts, courses, parts or offers: CSV, XLSX or ODS
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own on the command line"
)]
pub(crate) struct Import {
    /// The file
    file: PathBuf,
    /// The table, where the columns do not tell it
    #[arg(long, value_enum)]
    table: Option<Table>,
    /// The file is the shop's own drawer list: propose parts from its words, and ask where it leaves something open
    #[arg(long, conflicts_with_all = ["table", "all_or_none", "history", "at", "decimal"])]
    set_up: bool,
    /// Of --set-up: the torch body family of parts that do not say, small or large
    #[arg(long, value_name = "FAMILY", requires = "set_up")]
    family: Option<String>,
    /// Show what would become of each row, and change nothing
    #[arg(long = "try", conflicts_with = "apply")]
    only_try: bool,
    /// Record what is right
    #[arg(long)]
    apply: bool,
    /// Record nothing unless every row is right
    #[arg(long)]
    all_or_none: bool,
    /// The rows are history, taken over at set-up: they may be older than 90 days
    #[arg(long)]
    history: bool,
    /// When, for rows that do not say: a time of day such as 14:02, or an instant with its offset
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Who did it, for rows that do not say
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// The decimal mark of the sheet, where it is a comma and rows differ
    #[arg(long, value_name = "MARK")]
    decimal: Option<String>,
}

impl Import {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if !self.only_try && !self.apply {
            let why = "give --try to see what would become of each row, or --apply to record them";
            return Err(Failure::CommandLine(why.to_owned()));
        }
        let bytes = fs::read(&self.file).map_err(|source| Failure::File {
            path: self.file.clone(),
            source,
        })?;
        if self.set_up {
            return set_up::run(self, bytes, shop).await;
        }
        let how = self.how(shop)?;
        shop.send_waiting().await?;
        let table = self.table.map(Table::sheet);
        let told = match Cut::of(&bytes).filter(|_| !self.all_or_none) {
            None => push(shop, table, (bytes, &how)).await,
            Some(cut) => in_parts(shop, table, (&cut, &how)).await,
        };
        Ok(show(&told.map_err(|it| refused(it, &self.file))?, shop))
    }

    fn how(&self, shop: &Shop<'_, '_>) -> Result<PushSheet, Failure> {
        let at = self.at.as_deref().map(|text| {
            parse_at(text, shop.env.now, shop.env.zone)
                .map(|at| at.to_rfc3339())
                .map_err(Failure::CommandLine)
        });
        let name = self.file.file_name();
        Ok(PushSheet {
            only_try: self.only_try,
            all_or_none: self.all_or_none,
            history: self.history,
            at: at.transpose()?,
            by: self.by.clone(),
            site: shop.site.clone(),
            decimal: self.decimal.clone(),
            name: name.map(|name| name.to_string_lossy().into_owned()),
            from_line: None,
        })
    }
}

/// The form of a file is told by its name.
const UNTOLD: &str = "application/octet-stream";

async fn push(
    shop: &Shop<'_, '_>,
    table: Option<SheetTable>,
    (bytes, how): (Vec<u8>, &PushSheet),
) -> Result<PushedSheet, Failure> {
    let file = (bytes, UNTOLD);
    Ok(match table {
        Some(table) => shop.client.push_sheet(table, file, how).await?,
        None => shop.client.push_sheet_by_its_columns(file, how).await?,
    })
}

/// Pushes a long file part by part. The first tells the table and where the header stands.
async fn in_parts(
    shop: &mut Shop<'_, '_>,
    table: Option<SheetTable>,
    (cut, how): (&Cut<'_>, &PushSheet),
) -> Result<PushedSheet, Failure> {
    let bar = ProgressBar::new(cut.rows());
    let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} rows, {eta} to go");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let mut whole = push(shop, table, (cut.first().to_vec(), how)).await?;
    let Some(header) = cut.header(whole.header) else {
        let why = "the header stands too far down for a file of this length; take out what stands above it";
        return Err(Failure::CommandLine(why.to_owned()));
    };
    for part in cut.others() {
        bar.set_position(part.done);
        let how = PushSheet {
            from_line: Some(part.line),
            ..how.clone()
        };
        let bytes = [header, part.bytes].concat();
        match push(shop, Some(whole.table), (bytes, &how)).await {
            Ok(told) => whole.rows.extend(told.rows),
            Err(failure) => {
                bar.finish_and_clear();
                shop.output.note(&format!(
                    "Of the rows above line {} it was told before this: {} Import the file again: what is in already \
                     does no harm.",
                    part.line,
                    judged::sum(&whole)
                ));
                return Err(failure);
            }
        }
    }
    bar.finish_and_clear();
    whole.says = judged::sum(&whole);
    Ok(whole)
}

/// What is wrong with the file as a whole, with its name.
fn refused(failure: Failure, path: &Path) -> Failure {
    if let Failure::Service(client::Error::Problem(problem)) = &failure
        && problem.violations.is_empty()
    {
        return Failure::Sheet {
            path: path.to_owned(),
            why: problem.detail.clone(),
        };
    }
    failure
}

/// Prints the sum and the sheet: every row for programs, those that need a person for people.
fn show(told: &PushedSheet, shop: &mut Shop<'_, '_>) -> u8 {
    shop.output.say(&told.says);
    shop.output
        .show_data(told, &judged::sheet(&told.columns, &told.rows));
    if let Some(noted) = judged::noted(&told.columns, &told.rows) {
        shop.output.gap();
        shop.output.show_table(&noted);
    }
    if told.rows.iter().any(judged::needs_a_person) {
        exit::REFUSED
    } else {
        exit::DONE
    }
}
