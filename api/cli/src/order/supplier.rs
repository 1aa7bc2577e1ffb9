//! A supplier as orders see it: its terms, the days on which it is shut, and the prices of its packs.

use chrono::NaiveDate;
use clap::Args;
use client::every;
use domain::quantity::{Currency, Money};
use serde::Serialize;
use types::page::{PAGE_MAX, Page};
use types::{Closure, NewOffer, Offer, PriceBreak, Supplier};

use crate::days::{Span, span};
use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, money};
use crate::shop::Shop;

/// The word for no price break.
const NO_BREAK: &str = "none";

/// What is to be done about a supplier.
#[derive(Debug, Args)]
#[command(next_help_heading = "What a supplier asks, and when it is shut")]
pub(super) struct SupplierOptions {
    /// The supplier; alone, it is shown with its offers
    #[arg(long, value_name = "SUPPLIER", conflicts_with_all = ["job", "place", "cancel"])]
    pub(super) from: Option<String>,
    /// It is shut on these days, beside Saturdays and Sundays
    #[arg(long, value_name = "FIRST..LAST", value_parser = span, requires = "from")]
    shut: Option<Span>,
    /// Why, for people
    #[arg(long, value_name = "TEXT", requires = "shut")]
    note: Option<String>,
    /// It is open after all: take away the closure that begins on this day
    #[arg(
        long,
        value_name = "YYYY-MM-DD",
        requires = "from",
        conflicts_with = "shut"
    )]
    open: Option<NaiveDate>,
    /// The part whose packs have price breaks
    #[arg(long, value_name = "PART", requires_all = ["from", "breaks"])]
    part: Option<String>,
    /// How many a pack holds, where it sells several
    #[arg(long, value_name = "N", requires = "part")]
    pack_of: Option<i64>,
    /// From so many packs on each costs so much, instead of those there are: PACKS=PRICE; none for no break
    #[arg(long = "break", value_name = "PACKS=PRICE", num_args = 1.., requires = "part")]
    breaks: Vec<String>,
}

/// A supplier with its offers, as a program reads it.
#[derive(Debug, Serialize)]
struct Shown<'a> {
    supplier: &'a Supplier,
    offers: &'a [Offer],
}

impl SupplierOptions {
    /// Does what is asked, and shows the supplier.
    pub(super) async fn run(self, supplier: &str, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let mut found = shop.client.get_supplier(supplier).await?;
        if self.shut.is_some() || self.open.is_some() {
            found = self.close(found, shop).await?;
        }
        if let Some(part) = &self.part {
            self.price(&found, part, shop).await?;
        }
        let offers = offers(&found.code, shop).await?;
        let shown = Shown {
            supplier: &found,
            offers: &offers,
        };
        shop.output.show(&shown, &sheet(&offers));
        shop.output.gap();
        shop.output.say(&says(&found));
        Ok(exit::DONE)
    }

    /// Adds a closure, or takes one away.
    async fn close(&self, found: Supplier, shop: &Shop<'_, '_>) -> Result<Supplier, Failure> {
        let (code, version) = (found.code.clone(), found.version);
        let mut new = found.into_new();
        if let Some(Span { first, last }) = self.shut {
            new.closures.retain(|known| known.first != first);
            new.closures.push(Closure {
                first,
                last: (last > first).then_some(last),
                note: self.note.clone(),
            });
        }
        if let Some(day) = self.open {
            let before = new.closures.len();
            new.closures.retain(|known| known.first != day);
            if new.closures.len() == before {
                let why = format!(
                    "no closure of {code} begins on {day}; see tigstock order --from {code}"
                );
                return Err(Failure::CommandLine(why));
            }
        }
        new.check()?;
        Ok(shop.client.replace_supplier(&code, &new, version).await?)
    }

    /// Sets the price breaks of a pack.
    async fn price(&self, of: &Supplier, part: &str, shop: &Shop<'_, '_>) -> Result<(), Failure> {
        let breaks = breaks(&self.breaks, &of.currency)?;
        let mut found = offers(&of.code, shop).await?;
        found.retain(|offer| {
            offer.part.eq_ignore_ascii_case(part)
                && self.pack_of.is_none_or(|size| size == offer.pack_size)
        });
        let [offer] = &found[..] else {
            let why = if found.is_empty() {
                format!(
                    "{} offers no such pack of {part}; see tigstock order --from {}",
                    of.code, of.code
                )
            } else {
                let sizes: Vec<String> = found.iter().map(|it| it.pack_size.to_string()).collect();
                format!(
                    "{} sells {part} in packs of {}; say which: --pack-of N",
                    of.code,
                    sizes.join(" and ")
                )
            };
            return Err(Failure::CommandLine(why));
        };
        let new = NewOffer {
            breaks,
            ..offer.clone().into_new()
        };
        new.check()?;
        shop.client
            .replace_offer(offer.id, &new, offer.version)
            .await?;
        Ok(())
    }
}

/// `3=39.00` as price breaks.
fn breaks(words: &[String], currency: &str) -> Result<Vec<PriceBreak>, Failure> {
    if matches!(words, [one] if one.eq_ignore_ascii_case(NO_BREAK)) {
        return Ok(Vec::new());
    }
    let refuse = |why: String| Failure::CommandLine(why);
    let currency = Currency::parse(currency).map_err(|error| refuse(error.to_string()))?;
    let one = |word: &String| {
        let told = word.split_once('=');
        let told = told.and_then(|(packs, price)| Some((packs.parse::<i64>().ok()?, price)));
        let Some((packs_min, price)) = told else {
            return Err(refuse(format!(
                "\"{word}\" is no price break; write it as 3=39.00: from 3 packs on each costs 39.00"
            )));
        };
        let price = Money::parse(price, currency).map_err(|error| refuse(error.to_string()))?;
        Ok(PriceBreak {
            packs_min,
            price_minor: price.minor(),
        })
    };
    words.iter().map(one).collect()
}

/// The offers of a supplier.
async fn offers(supplier: &str, shop: &Shop<'_, '_>) -> Result<Vec<Offer>, Failure> {
    let first = Page {
        limit: Some(PAGE_MAX),
        after: None,
    };
    let client = &shop.client;
    let mut offers = every(first, async |page| client.list_offers(&page).await).await?;
    offers.retain(|offer| offer.supplier.eq_ignore_ascii_case(supplier));
    Ok(offers)
}

/// `quayhead: 1 open day, cut-off 12:00, freight 9.00 CAD. Shut 2026-12-24 to 2027-01-03 (year end).`
fn says(of: &Supplier) -> String {
    let days = match of.lead_time_days {
        1 => "1 open day".to_owned(),
        more => format!("{more} open days"),
    };
    let told = |minor: i64| money(minor, &of.currency);
    let mut terms = vec![days];
    terms.push(format!(
        "cut-off {}",
        of.cut_off.as_deref().unwrap_or("12:00")
    ));
    terms.push(format!("freight {}", told(of.freight_minor)));
    terms.extend(
        of.free_over_minor
            .map(|over| format!("none from {} on", told(over))),
    );
    terms.extend((of.minimum_minor > 0).then(|| format!("at least {}", told(of.minimum_minor))));
    let mut says = vec![format!("{}: {}.", of.code, terms.join(", "))];
    says.extend(of.closures.iter().map(|closure| {
        let last = closure.last;
        let last = last.map_or_else(String::new, |last| format!(" to {last}"));
        let note = closure.note.as_ref();
        let note = note.map_or_else(String::new, |note| format!(" ({note})"));
        format!("Shut {}{last}{note}.", closure.first)
    }));
    says.join(" ")
}

fn sheet(offers: &[Offer]) -> Sheet {
    let mut sheet = Sheet::new([
        ("supplier", ""),
        ("part", "Part"),
        ("pack_size", "Pack of"),
        ("price_minor", "Price"),
        ("currency", ""),
        ("breaks", "Price breaks"),
        ("none_until", "None until"),
    ]);
    for offer in offers {
        let breaks = offer.breaks.iter().map(|it| {
            let price = money(it.price_minor, &offer.currency);
            format!("{price} from {} packs on", it.packs_min)
        });
        let breaks: Vec<String> = breaks.collect();
        sheet.push([
            Cell::from(&offer.supplier),
            Cell::from(&offer.part),
            Cell::Whole(offer.pack_size),
            Cell::money(offer.price_minor, &offer.currency),
            Cell::from(&offer.currency),
            Cell::Text(breaks.join("; ")),
            Cell::from(&offer.none_until.map(|day| day.to_string())),
        ]);
    }
    sheet
}
