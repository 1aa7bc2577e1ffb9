//! Lulls: days on which a site does less work than usual, or more; told, listed and taken away.

use chrono::NaiveDate;
use clap::Args;
use client::every;
use types::page::PAGE_MAX;
use types::{ListLulls, Lull, LullPage, NewLull};

use crate::days::{Span, span};
use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, percent};
use crate::shop::Shop;

/// What is to be done about lulls.
#[derive(Debug, Args)]
#[command(next_help_heading = "Days on which the site does less work than usual, or more")]
pub(super) struct LullOptions {
    /// From its first day to its last, as 2026-07-01..2026-07-14; the same days again change it
    #[arg(long, value_name = "FIRST..LAST", value_parser = span, requires = "share", conflicts_with_all = ["lulls", "no_lull", "parts"])]
    lull: Option<Span>,
    /// How much of the usual work is done on each of these days: 0 when it is shut, 2 for twice as much
    #[arg(long, value_name = "SHARE", requires = "lull")]
    share: Option<f64>,
    /// A note
    #[arg(long, value_name = "TEXT", requires = "lull")]
    note: Option<String>,
    /// List them
    #[arg(long, conflicts_with_all = ["no_lull", "parts"])]
    lulls: bool,
    /// Take away the one that begins on that day
    #[arg(long, value_name = "YYYY-MM-DD", conflicts_with = "parts")]
    no_lull: Option<NaiveDate>,
}

impl LullOptions {
    /// Whether it is about lulls at all.
    pub(super) fn asked(&self) -> bool {
        self.lull.is_some() || self.lulls || self.no_lull.is_some()
    }

    /// Does what is asked.
    pub(super) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let known = known(shop).await?;
        if let Some(Span { first, last }) = self.lull {
            let new = NewLull {
                site: shop.site.clone(),
                first,
                last,
                share: self.share.unwrap_or_default(),
                note: self.note,
            };
            new.check()?;
            let same = known.iter().find(|it| (it.first, it.last) == (first, last));
            let lull = match same {
                Some(same) => {
                    shop.client
                        .replace_lull(same.id, &new, same.version)
                        .await?
                }
                None => shop.client.create_lull(&new).await?,
            };
            let says = format!(
                "{} to {}: {} of the usual work at {}.",
                lull.first,
                lull.last,
                percent(lull.share),
                site(&lull)
            );
            let sheet = sheet(std::slice::from_ref(&lull));
            shop.output.show_said(&lull, &says, &sheet);
            return Ok(exit::DONE);
        }
        if let Some(day) = self.no_lull {
            let Some(lull) = known.iter().find(|it| it.first == day) else {
                let why = format!("no lull begins on {day}; see tigstock forecast --lulls");
                return Err(Failure::CommandLine(why));
            };
            shop.client.delete_lull(lull.id, lull.version).await?;
            let says = format!(
                "{} to {} is work as usual at {}.",
                lull.first,
                lull.last,
                site(lull)
            );
            shop.output.show_said(lull, &says, &sheet(&[]));
            return Ok(exit::DONE);
        }
        let page = LullPage {
            lulls: known,
            next: None,
        };
        if page.lulls.is_empty() {
            let says = "No lulls: every day counts as its weekday did. Next: tigstock forecast --lull FIRST..LAST --share 0.5";
            shop.output.show_said(&page, says, &sheet(&[]));
        } else {
            shop.output.show(&page, &sheet(&page.lulls));
        }
        Ok(exit::DONE)
    }
}

fn site(lull: &Lull) -> &str {
    lull.site.as_deref().unwrap_or("the site")
}

/// The lulls of the site.
async fn known(shop: &mut Shop<'_, '_>) -> Result<Vec<Lull>, Failure> {
    let first = ListLulls {
        site: shop.site.clone(),
        limit: Some(PAGE_MAX),
        after: None,
    };
    let client = &shop.client;
    Ok(every(first, async |page| client.list_lulls(&page).await).await?)
}

fn sheet(lulls: &[Lull]) -> Sheet {
    let mut sheet = Sheet::new([
        ("first", "From"),
        ("last", "To"),
        ("share", "Of the usual"),
        ("note", "Note"),
        ("site", ""),
    ]);
    for lull in lulls {
        sheet.push([
            Cell::Text(lull.first.to_string()),
            Cell::Text(lull.last.to_string()),
            Cell::chance(lull.share),
            Cell::from(&lull.note),
            Cell::from(&lull.site),
        ]);
    }
    sheet
}
