//! `stock`: how many there are.

use std::cell::RefCell;

use clap::Args;
use client::every;
use types::{GetStock, ListStock, StockPage};

use crate::failure::{Failure, exit};
use crate::past::Past;
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock stock
  tigstock stock WLa20-2.4
  tigstock stock --as-of 2026-06-15T08:00:00-03:00 --known then
  tigstock stock --site school --format csv > stock.csv";

/// Show how many there are of a part, or of every part
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Stock {
    /// The code of a part; every part unless told
    part: Option<String>,
    #[command(flatten)]
    past: Past,
}

impl Stock {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let site = shop.site.clone();
        let client = &shop.client;
        if let Some(part) = self.part {
            let Past { as_of, known } = self.past;
            let query = GetStock { site, as_of, known };
            let stock = client.get_stock(&part, &query).await?;
            let sheet = sheet(std::slice::from_ref(&stock), shop);
            shop.output.show(&stock, &sheet);
            say_past(stock.stands_for.as_deref(), shop);
            say_impossible(&stock, shop);
            say_held(&stock, shop);
            return Ok(exit::DONE);
        }
        let query = ListStock {
            site,
            limit: Some(types::page::PAGE_MAX),
            after: None,
            as_of: self.past.as_of,
            known: self.past.known,
        };
        let told = RefCell::new(None);
        let stock = every(query, async |query| {
            let page = client.list_stock(&query).await?;
            told.borrow_mut().clone_from(&page.stands_for);
            Ok(page)
        })
        .await?;
        let sheet = sheet(&stock, shop);
        let page = StockPage {
            stock,
            stands_for: told.into_inner(),
            next: None,
        };
        shop.output.show(&page, &sheet);
        say_past(page.stands_for.as_deref(), shop);
        for stock in &page.stock {
            say_impossible(stock, shop);
            say_held(stock, shop);
        }
        Ok(exit::DONE)
    }
}

/// Stock as a sheet.
pub(crate) fn sheet(stock: &[types::Stock], shop: &Shop<'_, '_>) -> Sheet {
    // A shop that numbers no drawers has no use for the column.
    let numbered = stock.iter().any(|stock| !stock.drawers.is_empty());
    let promised = stock.iter().any(|stock| stock.allocated != 0);
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("name", "Name"),
        ("site", ""),
        ("unit", ""),
        ("on_hand", "On hand"),
        ("on_hold", "On hold"),
        ("allocated", if promised { "Allocated" } else { "" }),
        ("available", "Available"),
        ("on_order", "On order"),
        ("position", ""),
        ("counted_at", "Counted"),
        ("as_of", ""),
        ("drawers", if numbered { "Drawer" } else { "" }),
        ("state", ""),
        ("held_because", ""),
    ]);
    for stock in stock {
        let counted = stock
            .counted_at
            .as_ref()
            .map_or(Cell::Nothing, |counted| Cell::Shown {
                value: counted.to_rfc3339(),
                shown: local_time(shop.env.zone.clock(counted)),
            });
        sheet.push([
            Cell::from(&stock.part),
            Cell::from(&stock.name),
            Cell::from(&stock.site),
            Cell::from(&stock.unit),
            Cell::Whole(stock.on_hand),
            Cell::Whole(stock.on_hold),
            Cell::Whole(stock.allocated),
            Cell::Whole(stock.available),
            Cell::Whole(stock.on_order),
            Cell::Whole(stock.position),
            counted,
            Cell::Text(stock.as_of.to_rfc3339()),
            if stock.drawers.is_empty() {
                Cell::Nothing
            } else {
                Cell::Text(stock.drawers.join(", "))
            },
            stock.state.as_ref().map_or(Cell::Nothing, Cell::from),
            stock
                .held_because
                .as_ref()
                .map_or(Cell::Nothing, Cell::from),
        ]);
    }
    sheet
}

/// Why some of it is not to be used.
fn say_held(stock: &types::Stock, shop: &mut Shop<'_, '_>) {
    if let Some(because) = &stock.held_because
        && stock.on_hold > 0
    {
        let (part, on_hold) = (&stock.part, stock.on_hold);
        shop.output
            .say(&format!("{part}: {on_hold} held: {because}."));
    }
}

/// Says what figures of the past stand for.
fn say_past(stands_for: Option<&str>, shop: &mut Shop<'_, '_>) {
    if let Some(stands_for) = stands_for {
        shop.output.gap();
        shop.output.say(stands_for);
    }
}

/// A drawer cannot hold less than nothing: says what that means, and what to do.
fn say_impossible(stock: &types::Stock, shop: &mut Shop<'_, '_>) {
    if let Some(if_double) = stock.if_double {
        let (part, on_hand) = (&stock.part, stock.on_hand);
        shop.output.say(&format!(
            "{part}: {on_hand} ({if_double} if double). Next: tigstock questions --part {part}"
        ));
    }
    if stock.on_hand < 0 {
        let (part, on_hand) = (&stock.part, stock.on_hand);
        shop.output.say(&format!(
            "{part}: {on_hand} is impossible. A receipt or a count is missing. \
             Next: tigstock count {part} N"
        ));
    }
}
