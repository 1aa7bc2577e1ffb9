//! `import`: a sheet of counts, of use or of courses, row by row. What is right goes in, what is wrong comes back
//! in the same sheet with the reason. How a file is read, and what its cells mean, is in the folder.

use std::path::PathBuf;

use clap::Args;

use crate::failure::{Failure, exit};
use crate::instant::parse_at;
use crate::shop::Shop;

mod cells;
mod columns;
mod counts;
mod courses;
mod file;
mod judged;
mod usage;

use columns::Kind;
use file::File;
use judged::Judged;

const EXAMPLES: &str = "\
Columns of counts: drawer, part, counted, counted_at, by; of use: row_id, when, torch, part, qty, arc,
grinds, job, what. All must be there, a cell may be empty; row_id may be added to counts, and the other
columns of `tigstock count --list` stay as they are. Arc time has its unit: 75m, 1h20.

Courses need date, heads and stations; ends or days, exercises (parted by semicolons), kit, site, code and
name may be there. Without a code a course is called after its day: course-0912.

A row without row_id gets an id that follows from what it says and where it stands, so that importing a
file again is harmless.

Examples:
  tigstock import counts.csv --try             say what would become of each row
  tigstock import counts.csv --apply --at 18:00 --by helper
  tigstock import usage.csv --apply --format csv > back.csv
  tigstock import courses.csv --try";

/// Take over a sheet of counts, of use or of courses (CSV)
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Import {
    /// The file
    file: PathBuf,
    /// Show what would become of each row, and change nothing
    #[arg(long = "try", conflicts_with = "apply")]
    only_try: bool,
    /// Record what is right
    #[arg(long)]
    apply: bool,
    /// When, for rows that do not say: a time of day such as 14:02, or an instant with its offset
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Who did it, for rows that do not say
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

impl Import {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if !self.only_try && !self.apply {
            let why = "give --try to see what would become of each row, or --apply to record them";
            return Err(Failure::CommandLine(why.to_owned()));
        }
        if let Some(sheet) = courses::read(&self.file)? {
            return courses::run(&sheet, self.only_try, shop).await;
        }
        let at = self.at.as_deref().map(|text| {
            parse_at(text, shop.env.now, shop.env.zone)
                .map(|at| at.to_rfc3339())
                .map_err(Failure::CommandLine)
        });
        let otherwise = cells::Otherwise {
            at: at.transpose()?,
            by: self.by,
            site: shop.site.clone(),
            zone: shop.env.zone,
        };
        let file = File::read(&self.file)?;
        shop.send_waiting().await?;
        let judged = match file.kind {
            Kind::Counts => counts::judge(&shop.client, &file, &otherwise, self.only_try).await?,
            Kind::Usage => usage::judge(&shop.client, &file, &otherwise, self.only_try).await?,
        };
        Ok(show(&file, &judged, self.only_try, shop))
    }
}

/// Prints the sum and the sheet: every row for programs, those that need a person for people.
fn show(file: &File, judged: &[Judged], only_try: bool, shop: &mut Shop<'_, '_>) -> u8 {
    let says = judged::sum(judged, only_try);
    let answer = judged::Answer {
        says: &says,
        only_tried: only_try,
        rows: judged,
    };
    shop.output.say(&says);
    shop.output.show_data(&answer, &judged::sheet(file, judged));
    if let Some(noted) = judged::noted(file, judged) {
        shop.output.gap();
        shop.output.show_table(&noted);
    }
    if judged.iter().any(Judged::needs_a_person) {
        exit::REFUSED
    } else {
        exit::DONE
    }
}
