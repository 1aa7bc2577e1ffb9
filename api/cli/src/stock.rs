//! `stock`: how many there are.

use clap::Args;
use client::every;
use types::{GetStock, ListStock, StockPage};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, local_time};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock stock
  tigstock stock WLa20-2.4
  tigstock stock --site school --format csv > stock.csv";

/// Show how many there are of a part, or of every part
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Stock {
    /// The code of a part; every part unless told
    part: Option<String>,
}

impl Stock {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        shop.send_waiting().await?;
        let site = shop.site.clone();
        let client = &shop.client;
        if let Some(part) = self.part {
            let stock = client.get_stock(&part, &GetStock { site }).await?;
            let sheet = sheet(std::slice::from_ref(&stock), shop);
            shop.output.show(&stock, &sheet);
            say_impossible(&stock, shop);
            say_held(&stock, shop);
            return Ok(exit::DONE);
        }
        let query = ListStock {
            site,
            limit: Some(types::page::PAGE_MAX),
            after: None,
        };
        let stock = every(query, async |query| client.list_stock(&query).await).await?;
        let sheet = sheet(&stock, shop);
        let page = StockPage { stock, next: None };
        shop.output.show(&page, &sheet);
        for stock in &page.stock {
            say_impossible(stock, shop);
            say_held(stock, shop);
        }
        Ok(exit::DONE)
    }
}

/// Stock as a sheet.
pub(crate) fn sheet(stock: &[types::Stock], shop: &Shop<'_, '_>) -> Sheet {
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("name", "Name"),
        ("site", ""),
        ("unit", ""),
        ("on_hand", "On hand"),
        ("on_hold", "On hold"),
        ("available", "Available"),
        ("on_order", "On order"),
        ("position", ""),
        ("counted_at", "Counted"),
        ("as_of", ""),
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
            Cell::Whole(stock.available),
            Cell::Whole(stock.on_order),
            Cell::Whole(stock.position),
            counted,
            Cell::Text(stock.as_of.to_rfc3339()),
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

/// A drawer cannot hold less than nothing: says what that means, and what to do.
fn say_impossible(stock: &types::Stock, shop: &mut Shop<'_, '_>) {
    if stock.on_hand < 0 {
        let (part, on_hand) = (&stock.part, stock.on_hand);
        shop.output.say(&format!(
            "{part}: {on_hand} is impossible. A receipt or a count is missing. \
             Next: tigstock count {part} N"
        ));
    }
}
