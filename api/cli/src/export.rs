//! `export`: a sheet of what the service knows, as a file for a spreadsheet or as CSV on the screen.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use client::SheetName;
use types::SheetForm;

use crate::failure::{Failure, exit};
use crate::shop::Shop;

mod template;

const EXAMPLES: &str = "\
The end of the file's name says its form: .csv, .xlsx or .ods. Without a file the sheet is printed as CSV.
Every row ends with as_of, the instant that it stands for.

Examples:
  tigstock export stock --to stock.xlsx
  tigstock export buy-list --to buy.ods        what to buy, with the cost added up
  tigstock export needs --job R-118 --to needs.xlsx
  tigstock export order --order 12 --to order-12.xlsx
                                               an order, for its supplier
  tigstock export movements --part WLa20-2.4 > movements.csv
  tigstock export wear --arc 34h               use to expect over 34 hours of arc time
  tigstock export template big-job --to big-job.xlsx
                                               instructions, counts to fill in and import, live cells";

/// Which sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Table {
    /// What is in the drawers, promised and on order
    Stock,
    /// What is at its order point, how many packs from whom, by when
    BuyList,
    /// What a job or a course needs
    Needs,
    /// An order, for its supplier
    Order,
    /// The warnings
    Warnings,
    /// Every row of the ledger
    Movements,
    /// Arc time, grinds, cut-backs and starts
    Usage,
    /// The counts
    Counts,
    /// The goods that came in
    Receipts,
    /// Use to expect over a size of work
    Wear,
    /// The kits
    Kits,
    /// The parts
    Parts,
    /// Who sells what
    Offers,
    /// A workbook to open and use
    Template,
}

/// Write a sheet for a spreadsheet: CSV, XLSX or ODS
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Export {
    /// Which sheet
    #[arg(value_enum)]
    table: Table,
    /// Of template: which
    #[arg(value_enum, value_name = "TEMPLATE")]
    template: Option<template::Template>,
    /// The file; the end of its name says its form
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "to")]
    replace: bool,
    /// Of needs: the job
    #[arg(long, value_name = "JOB", conflicts_with = "course")]
    job: Option<String>,
    /// Of needs: the course
    #[arg(long, value_name = "COURSE")]
    course: Option<String>,
    /// Of order: its number
    #[arg(long, value_name = "NUMBER")]
    order: Option<String>,
    /// Of movements, counts, receipts, wear, buy-list and warnings: only this part
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// Of usage: only this torch
    #[arg(long, value_name = "TORCH")]
    torch: Option<String>,
    /// Of wear: the arc time of the work, such as 34h
    #[arg(long, value_name = "TIME")]
    arc: Option<String>,
    /// Of buy-list: also what is enough or on order
    #[arg(long)]
    all: bool,
}

impl Export {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if self.table == Table::Template {
            self.query(None)?;
            return template::run(&self, shop).await;
        }
        if self.template.is_some() {
            let why = "only `export template` takes a second word";
            return Err(Failure::CommandLine(why.to_owned()));
        }
        let form = self.form()?;
        let query = self.query(shop.site.as_deref())?;
        let name = self.name()?;
        shop.send_waiting().await?;
        let bytes = shop.client.sheet_file(name, form, &query).await?;
        match &self.to {
            None => shop.output.raw(&bytes),
            Some(path) => {
                write(path, self.replace, &bytes)?;
                let (path, bytes) = (path.display(), bytes.len());
                shop.output.say(&format!("{path}: {bytes} bytes written."));
            }
        }
        Ok(exit::DONE)
    }

    fn form(&self) -> Result<SheetForm, Failure> {
        let Some(path) = &self.to else {
            return Ok(SheetForm::Csv);
        };
        let extension = path
            .extension()
            .and_then(|it| it.to_str())
            .unwrap_or_default();
        SheetForm::of_extension(extension).ok_or_else(|| {
            let path = path.display();
            Failure::CommandLine(format!("{path}: end the name with .csv, .xlsx or .ods"))
        })
    }

    fn name(&self) -> Result<SheetName<'_>, Failure> {
        let missing = |why: &str| Err(Failure::CommandLine(why.to_owned()));
        Ok(match self.table {
            Table::Stock => SheetName::Stock,
            Table::BuyList => SheetName::BuyList,
            Table::Needs => match (&self.job, &self.course) {
                (Some(job), None) => SheetName::JobNeeds(job),
                (None, Some(course)) => SheetName::CourseNeeds(course),
                _ => {
                    return missing(
                        "say of what: export needs --job R-118, or --course course-0912",
                    );
                }
            },
            Table::Order => match &self.order {
                Some(order) => SheetName::Order(order),
                None => {
                    return missing(
                        "say which: export order --order 12; `tigstock order` lists them",
                    );
                }
            },
            Table::Warnings => SheetName::Warnings,
            Table::Movements => SheetName::Movements,
            Table::Usage => SheetName::Usage,
            Table::Counts => SheetName::Counts,
            Table::Receipts => SheetName::Receipts,
            Table::Wear => SheetName::Wear,
            Table::Kits => SheetName::Kits,
            Table::Parts => SheetName::Parts,
            Table::Offers => SheetName::Offers,
            Table::Template => return missing("say which: export template big-job"),
        })
    }

    /// What is asked of the sheet; an option that the sheet does not have is told, not passed over.
    fn query(&self, site: Option<&str>) -> Result<Vec<(&'static str, String)>, Failure> {
        use Table as T;
        let given = [
            (
                "site",
                site.map(str::to_owned),
                &[T::Stock, T::BuyList, T::Wear, T::Warnings][..],
            ),
            (
                "part",
                self.part.clone(),
                &[
                    T::Movements,
                    T::Counts,
                    T::Receipts,
                    T::Wear,
                    T::BuyList,
                    T::Warnings,
                ],
            ),
            ("torch", self.torch.clone(), &[T::Usage]),
            ("arc", self.arc.clone(), &[T::Wear]),
            ("all", self.all.then(|| "true".to_owned()), &[T::BuyList]),
        ];
        let mut query = Vec::new();
        for (option, value, tables) in given {
            let Some(value) = value else { continue };
            if !tables.contains(&self.table) {
                let why = format!(
                    "--{option} is of another sheet; leave it out, or see `tigstock export --help`"
                );
                return Err(Failure::CommandLine(why));
            }
            query.push((option, value));
        }
        for (option, is_given, table) in [
            ("job", self.job.is_some(), T::Needs),
            ("course", self.course.is_some(), T::Needs),
            ("order", self.order.is_some(), T::Order),
        ] {
            if is_given && self.table != table {
                let why = format!(
                    "--{option} is of another sheet; leave it out, or see `tigstock export --help`"
                );
                return Err(Failure::CommandLine(why));
            }
        }
        Ok(query)
    }
}

fn write(path: &PathBuf, replace: bool, bytes: &[u8]) -> Result<(), Failure> {
    if path.exists() && !replace {
        let path = path.display();
        return Err(Failure::CommandLine(format!(
            "{path} is there already; give another name, or --replace"
        )));
    }
    std::fs::write(path, bytes).map_err(|source| Failure::NotWritten {
        path: path.clone(),
        source,
    })
}
