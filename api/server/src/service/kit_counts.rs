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
    let with = |stock: &[i64]| alone(stock, &kind).map_err(fault);
    let one_more = store.gains(&gains(&stock, kinds, count, with)?);
    let next_kit_wants = store.pieces(&more);
    Ok(KitCount {
        says: words::one(&kit.code, count, &next_kit_wants, &one_more),
        kit: kit.code,
        site: site.code,
        count,
        next_kit_wants,
        one_more,
        assumes: fits::assumed_seats(store.is_unchecked),
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
    let one_more = new.one_more;
    let counted = tokio::task::spawn_blocking(move || Counted::of(&stock, kinds, one_more));
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
    let one_more = counted.one_more.map(|gains| store.gains(&gains));
    let mut says = words::several(&kits, (total, counted.together.is_proven), &wanted_lacks);
    says.extend(one_more.as_deref().map(words::one_more));
    Ok(KitCounts {
        says,
        one_more,
        site: site.code,
        kits,
        total,
        is_proven: counted.together.is_proven,
        wanted_lacks,
        assumes: fits::assumed_seats(store.is_unchecked),
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
    one_more: Option<Vec<(usize, i64)>>,
}

impl Counted {
    /// Counts; it may take a while, and so runs beside the requests.
    fn of(stock: &[i64], kinds: Vec<Kind>, one_more: bool) -> Result<Self, Error> {
        let each: Result<Vec<i64>, _> = kinds.iter().map(|kind| alone(stock, kind)).collect();
        let each = each.map_err(fault)?;
        let wanted: Vec<i64> = kinds.iter().map(|kind| kind.wanted.unwrap_or(0)).collect();
        let together = count::together(stock, &kinds).map_err(fault)?;
        let total = together.kits.iter().sum();
        let with = |stock: &[i64]| {
            let counts = count::together(stock, &kinds).map_err(fault)?;
            Ok(counts.kits.iter().sum())
        };
        Ok(Self {
            one_more: one_more
                .then(|| gains(stock, &kinds, total, with))
                .transpose()?,
            together,
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
    /// Whether a kit that was laid out rests on seats that nobody has checked.
    is_unchecked: bool,
}

impl Store {
    async fn load(db: &impl ConnectionTrait, site: &sites::Model) -> Result<Self, Error> {
        let shelf = Shelf::load(db, site).await?;
        let stubs = Stubs::load(db, site, &shelf).await?;
        Ok(Self {
            shelf,
            stubs,
            is_unchecked: false,
        })
    }

    /// Lays a kit out on the head on which it goes together.
    async fn lay_out(
        &mut self,
        db: &impl ConnectionTrait,
        kit: &kits::Model,
    ) -> Result<Kind, Error> {
        for family in BodyFamily::ALL {
            let layout = Layout::load(db, kit, (*family, &self.shelf)).await?;
            if let Some((part, because)) = layout.barred(&self.shelf) {
                let why = format!(
                    "kit {} holds {part}, which is {because}; give its slot a permitted part",
                    kit.code
                );
                return Err(Error::WrongState(why));
            }
            if let Some(kind) = layout.kind(&self.shelf, &mut self.stubs) {
                let parts = layout
                    .slots
                    .iter()
                    .flat_map(|slot| slot.parts.iter().copied());
                let parts: Vec<usize> = parts.collect();
                self.is_unchecked |= self.shelf.is_unchecked(*family, &parts);
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

    fn gains(&self, gains: &[(usize, i64)]) -> Vec<KitGain> {
        let gain = |(place, count): &(usize, i64)| {
            Some(KitGain {
                part: self.code(*place)?,
                count: *count,
            })
        };
        gains.iter().filter_map(gain).collect()
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

/// Where one more piece gives more kits than `count`, and how many `with` it.
fn gains(
    stock: &[i64],
    kinds: &[Kind],
    count: i64,
    with: impl Fn(&[i64]) -> Result<i64, Error>,
) -> Result<Vec<(usize, i64)>, Error> {
    let mut found = Vec::new();
    for part in kind_parts(kinds) {
        let mut more = stock.to_vec();
        more[part] += 1;
        let with = with(&more)?;
        if with > count {
            found.push((part, with));
        }
    }
    Ok(found)
}

/// The places of the stock from which kinds are filled, each once.
fn kind_parts(kinds: &[Kind]) -> BTreeSet<usize> {
    let slots = kinds.iter().flat_map(|kind| &kind.ways).flatten();
    slots
        .flat_map(|slot| slot.alternatives.iter().copied())
        .collect()
}
