//! How many complete kits the stock of a site makes: of one kind, or of several that share parts. The
//! counting is the domain's; here kits are laid out and the answer is told.

use std::collections::BTreeSet;

use domain::kit::count::{self, Kind, alone, fewest_more, in_order};
use domain::part::BodyFamily;
use sea_orm::ConnectionTrait;
use types::{GetKitCount, KitCount, KitCounts, KitGain, KitKindCount, KitPieces, NewKitCounts};

use super::fits::{self, Shelf};
use super::kit_checks::fault;
use super::kit_layout::{Layout, Stubs};
use super::{Context, Error, codes};
use crate::store::entity::{kits, sites};

mod words;

/// How many kits of one kind stock makes.
pub async fn get(context: &Context, kit: &str, query: &GetKitCount) -> Result<KitCount, Error> {
    let db = context.store.read();
    let kit = codes::kit(db, kit).await?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let mut store = Store::load(db, &site).await?;
    let kind = store.lay_out(db, &kit).await?;
    let stock = store.stock();
    let count = alone(&stock, &kind).map_err(fault)?;
    let kinds = std::slice::from_ref(&kind);
    let more = fewest_more(&stock, kinds, &[count + 1]).map_err(fault)?;
    let mut one_more = Vec::new();
    for part in kind_parts(&kind) {
        let mut stock = stock.clone();
        stock[part] += 1;
        let with = alone(&stock, &kind).map_err(fault)?;
        if with > count {
            one_more.extend(store.code(part).map(|part| KitGain { part, count: with }));
        }
    }
    let next_kit_wants = store.pieces(&more);
    Ok(KitCount {
        says: words::one(&kit.code, count, &next_kit_wants, &one_more),
        kit: kit.code,
        site: site.code,
        count,
        next_kit_wants,
        one_more,
        assumes: fits::assumed_seats(true),
        as_of: context.clock.now(),
    })
}

/// How many kits of several kinds stock makes together.
pub async fn get_together(context: &Context, new: &NewKitCounts) -> Result<KitCounts, Error> {
    new.check()?;
    let db = context.store.read();
    let site = codes::site_or_first(db, "/site", new.site.as_deref()).await?;
    let mut store = Store::load(db, &site).await?;
    let mut kinds = Vec::with_capacity(new.kits.len());
    let mut names = Vec::with_capacity(new.kits.len());
    for (index, wanted) in new.kits.iter().enumerate() {
        let kit = codes::named_kit(db, &format!("/kits/{index}/kit"), &wanted.kit).await?;
        let kind = store.lay_out(db, &kit).await?;
        kinds.push(Kind {
            wanted: wanted.wanted,
            ..kind
        });
        names.push(kit.code);
    }
    let stock = store.stock();
    let counted = tokio::task::spawn_blocking(move || Counted::of(&stock, kinds));
    let counted = counted
        .await
        .map_err(|error| Error::Internal(error.to_string()))??;
    let kits = names
        .into_iter()
        .enumerate()
        .map(|(index, kit)| KitKindCount {
            kit,
            wanted: counted.kinds[index].wanted,
            alone: counted.alone[index],
            together: counted.together.kits[index],
            in_order: counted.in_order[index],
        });
    let kits: Vec<KitKindCount> = kits.collect();
    let total = counted.together.kits.iter().sum();
    let wanted_lacks = store.pieces(&counted.lacks);
    Ok(KitCounts {
        says: words::several(&kits, (total, counted.together.is_proven), &wanted_lacks),
        site: site.code,
        kits,
        total,
        is_proven: counted.together.is_proven,
        wanted_lacks,
        assumes: fits::assumed_seats(true),
        as_of: context.clock.now(),
    })
}

/// What is counted of several kinds.
struct Counted {
    kinds: Vec<Kind>,
    alone: Vec<i64>,
    together: count::Counts,
    in_order: Vec<i64>,
    lacks: Vec<(usize, i64)>,
}

impl Counted {
    /// Counts; it may take a while, and so runs beside the requests.
    fn of(stock: &[i64], kinds: Vec<Kind>) -> Result<Self, Error> {
        let each: Result<Vec<i64>, _> = kinds.iter().map(|kind| alone(stock, kind)).collect();
        let each = each.map_err(fault)?;
        let wanted: Vec<i64> = kinds.iter().map(|kind| kind.wanted.unwrap_or(0)).collect();
        Ok(Self {
            together: count::together(stock, &kinds).map_err(fault)?,
            in_order: in_order(stock, &kinds).map_err(fault)?,
            lacks: fewest_more(stock, &kinds, &wanted).map_err(fault)?,
            alone: each,
            kinds,
        })
    }
}

/// The stock of a site, from which kits are filled.
struct Store {
    shelf: Shelf,
    stubs: Stubs,
}

impl Store {
    async fn load(db: &impl ConnectionTrait, site: &sites::Model) -> Result<Self, Error> {
        let shelf = Shelf::load(db, site).await?;
        let stubs = Stubs::load(db, site, &shelf).await?;
        Ok(Self { shelf, stubs })
    }

    /// Lays a kit out on the head on which it goes together.
    async fn lay_out(
        &mut self,
        db: &impl ConnectionTrait,
        kit: &kits::Model,
    ) -> Result<Kind, Error> {
        for family in BodyFamily::ALL {
            let layout = Layout::load(db, kit, (*family, &self.shelf)).await?;
            if let Some(kind) = layout.kind(&self.shelf, &mut self.stubs) {
                return Ok(kind);
            }
        }
        Err(Error::WrongState(format!(
            "kit {} does not go together on any torch; check it on one, to see which seat fails",
            kit.code
        )))
    }

    fn stock(&self) -> Vec<i64> {
        self.stubs.stock(&self.shelf)
    }

    /// The code of what lies at a place of the stock.
    fn code(&self, place: usize) -> Option<String> {
        let part = self.stubs.part_of(place, &self.shelf)?;
        Some(self.shelf.parts[part].row.code.clone())
    }

    fn pieces(&self, more: &[(usize, i64)]) -> Vec<KitPieces> {
        let pieces = |(place, quantity): &(usize, i64)| {
            Some(KitPieces {
                part: self.code(*place)?,
                quantity: *quantity,
            })
        };
        more.iter().filter_map(pieces).collect()
    }
}

/// The places of the stock from which a kind is filled, each once.
fn kind_parts(kind: &Kind) -> BTreeSet<usize> {
    let slots = kind.ways.iter().flatten();
    slots
        .flat_map(|slot| slot.alternatives.iter().copied())
        .collect()
}
