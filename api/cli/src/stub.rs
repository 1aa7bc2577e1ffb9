//! `stub`: the stub jar. The old electrode of a torch goes in; stubs without a torch go in and out;
//! and the jar is shown.

use clap::Args;
use client::Cursor;
use types::{ListStubs, NewStub, NewUsage, StubGroup, StubMove, What};

use crate::entry::{Entry, EntryOptions};
use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

const EXAMPLES: &str = "\
Examples:
  tigstock stub T1 --length 48mm      the old electrode of T1, into the jar
  tigstock stub                       what is in the jar
  tigstock stub --add unidentified --diameter 2.4mm --quantity 6 --site tarnbridge
  tigstock stub --take WLa20 --diameter 2.4mm --length 48mm
  tigstock stub --scrap WLa20 --diameter 2.4mm";

/// Keep the old electrode of a torch as a stub, or see what is in the jar
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Stub {
    /// The torch whose old electrode goes into the jar; without it, the jar is shown
    #[arg(conflicts_with_all = ["add", "take", "scrap"])]
    torch: Option<String>,
    /// The electrode, if it is not the one that is fitted
    #[arg(requires = "torch")]
    part: Option<String>,
    /// Add stubs of this class; unidentified if the band is gone
    #[arg(long, value_name = "CLASS", requires = "diameter")]
    add: Option<String>,
    /// Take stubs of this class for use
    #[arg(
        long,
        value_name = "CLASS",
        requires = "diameter",
        conflicts_with = "add"
    )]
    take: Option<String>,
    /// Throw stubs of this class away
    #[arg(long, value_name = "CLASS", requires = "diameter", conflicts_with_all = ["add", "take"])]
    scrap: Option<String>,
    /// Their diameter
    #[arg(long, value_name = "SIZE")]
    diameter: Option<String>,
    /// How long they are, with the unit
    #[arg(long, value_name = "LENGTH")]
    length: Option<String>,
    /// How many; 1 unless told
    #[arg(long, value_name = "N")]
    quantity: Option<i64>,
    #[command(flatten)]
    options: EntryOptions,
}

impl Stub {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if self.torch.is_some() {
            let usage = self.of_torch(shop)?;
            return shop.record(Entry::Usage(Box::new(usage))).await;
        }
        let moved = [
            (StubMove::Add, &self.add),
            (StubMove::Take, &self.take),
            (StubMove::Scrap, &self.scrap),
        ];
        let moved = moved
            .into_iter()
            .find_map(|(what, class)| Some((what, class.clone()?)));
        match moved {
            Some((what, class)) => {
                let stubs = self.moved(what, class, shop)?;
                shop.record(Entry::Stubs(stubs)).await
            }
            None => show(self.diameter, shop).await,
        }
    }

    fn of_torch(self, shop: &Shop<'_, '_>) -> Result<NewUsage, Failure> {
        if self.diameter.is_some() {
            return Err(Failure::CommandLine(
                "--diameter follows from the electrode of the torch; leave it out".into(),
            ));
        }
        let mut usage = self.options.usage(shop)?;
        usage.what = Some(What::Stub.as_str().to_owned());
        usage.torch = self.torch;
        usage.part = self.part;
        usage.length = self.length;
        usage.qty = self.quantity;
        Ok(usage)
    }

    fn moved(self, what: StubMove, class: String, shop: &Shop<'_, '_>) -> Result<NewStub, Failure> {
        Ok(NewStub {
            what: Some(what.as_str().to_owned()),
            class,
            diameter: self.diameter.unwrap_or_default(),
            length: self.length,
            quantity: self.quantity,
            at: Some(self.options.at(shop)?),
            device_at: None,
            clock_ahead_seconds: None,
            site: shop.site.clone(),
            group: self.options.group,
            job: self.options.job,
            lot: self.options.lot,
            by: self.options.by,
            note: self.options.note,
        })
    }
}

/// Shows what is in the jar.
async fn show(diameter: Option<String>, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    shop.send_waiting().await?;
    let query = ListStubs {
        site: shop.site.clone(),
        diameter,
        limit: Some(types::page::PAGE_MAX),
        ..ListStubs::default()
    };
    let mut jar = shop.client.list_stubs(&query).await?;
    while let Some(after) = jar.next.take() {
        let page = shop.client.list_stubs(&query.clone().after(after)).await?;
        jar.stubs.extend(page.stubs);
        // The sentence that closes the cautions stays the last one.
        jar.cautions.retain(|said| !page.cautions.contains(said));
        jar.cautions.extend(page.cautions);
        jar.next = page.next;
    }
    shop.output.show(&jar, &sheet(&jar.stubs));
    for caution in &jar.cautions {
        shop.output.caution(caution);
    }
    Ok(exit::DONE)
}

fn sheet(stubs: &[StubGroup]) -> Sheet {
    let mut sheet = Sheet::new([
        ("class", "Class"),
        ("diameter", "Diameter"),
        ("length", "Length"),
        ("lot", "Lot"),
        ("quantity", "Stubs"),
        ("available", "Available"),
        ("held_because", "Held because"),
        ("usable_under_a_fixed_procedure", ""),
    ]);
    for group in stubs {
        let text = |text: &Option<String>| text.as_ref().map_or(Cell::Nothing, Cell::from);
        sheet.push([
            Cell::from(&group.class),
            Cell::from(&group.diameter),
            text(&group.length),
            text(&group.lot),
            Cell::Whole(group.quantity),
            Cell::Whole(group.available),
            text(&group.held_because),
            Cell::Text(group.usable_under_a_fixed_procedure.to_string()),
        ]);
    }
    sheet
}
