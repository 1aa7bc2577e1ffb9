//! A kit laid out beside a torch: its slots among the parts of the shop, the ways in which it goes
//! together there, and the stock that fills it. Kit checks and kit counts both stand on it.

use domain::class::ElectrodeClass;
use domain::kit::count::{Kind, Slot as Filled};
use domain::kit::variant::{Assembly, Variant, assemble};
use domain::kit::{self};
use domain::part::{BodyFamily, PartSpec};
use domain::size::{Diameter, RodLength};
use sea_orm::ConnectionTrait;

use super::fits::Shelf;
use super::{Error, site_rules};
use crate::store;
use crate::store::entity::{kits, sites};
use crate::store::stubs::Which;

/// A slot of a kit.
pub(super) struct Slot {
    /// How many pieces one kit has in it.
    pub(super) quantity: i64,
    /// The parts that will do and are permitted at the site, as indices of the shelf, the first choice
    /// first; all of them if the site permits none.
    pub(super) parts: Vec<usize>,
    /// Whether it goes into the torch; a wheel or a cylinder lies beside it.
    pub(super) is_fitted: bool,
}

/// A kit on a shelf, for a torch of a body family.
pub(super) struct Layout {
    pub(super) family: BodyFamily,
    pub(super) slots: Vec<Slot>,
    /// The slots that go into the torch, by index: those of the assembly.
    pub(super) fitted: Vec<usize>,
    pub(super) assembly: Assembly,
}

impl Layout {
    /// Lays a kit out.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        kit: &kits::Model,
        (family, shelf): (BodyFamily, &Shelf),
    ) -> Result<Self, Error> {
        let others = store::kits::alternatives(db, [kit.id]).await?;
        let mut slots = Vec::new();
        for line in store::kits::lines(db, [kit.id]).await? {
            let of_slot = others.iter().filter(|other| other.part_id == line.part_id);
            let parts = std::iter::once(line.part_id).chain(of_slot.map(|row| row.alternative_id));
            let parts = permitted(shelf, parts.filter_map(|part| shelf.index(part)).collect());
            let first = parts.first().map(|part| shelf.parts[*part].spec.kind());
            slots.push(Slot {
                quantity: line.quantity,
                parts,
                is_fitted: first.is_some_and(domain::part::PartKind::is_fitted),
            });
        }
        let fitted: Vec<usize> = (0..slots.len())
            .filter(|slot| slots[*slot].is_fitted)
            .collect();
        let parts: Vec<Vec<usize>> = fitted
            .iter()
            .map(|slot| slots[*slot].parts.clone())
            .collect();
        let assembly = assemble(shelf.head(family)?, &shelf.pieces(), &parts);
        Ok(Self {
            family,
            slots,
            fitted,
            assembly,
        })
    }

    /// A part of a slot for which the site permits nothing, and why.
    pub(super) fn barred<'s>(&self, shelf: &'s Shelf) -> Option<(&'s str, &'s str)> {
        self.slots.iter().find_map(|slot| {
            let part = &shelf.parts[*slot.parts.first()?];
            Some((part.row.code.as_str(), part.held_because.as_deref()?))
        })
    }

    /// The ways in which it goes together; none if it does not.
    pub(super) fn variants(&self) -> &[Variant] {
        match &self.assembly {
            Assembly::Fits(variants) => variants,
            Assembly::Fails(_) => &[],
        }
    }

    /// The parts of a slot that go together with the rest in some way, in the order wanted; all of
    /// them if nothing goes together.
    pub(super) fn usable(&self, slot: usize) -> Vec<usize> {
        let parts = &self.slots[slot].parts;
        let place = self.fitted.iter().position(|fitted| *fitted == slot);
        let Some(place) = place.filter(|_| !self.variants().is_empty()) else {
            return parts.clone();
        };
        let goes = |part: &&usize| {
            self.variants()
                .iter()
                .any(|variant| variant.slots[place].contains(part))
        };
        parts.iter().filter(goes).copied().collect()
    }

    /// The longest rod that goes under the cap, where the rods as delivered are longer in every way.
    pub(super) fn short_rod(&self) -> Option<RodLength> {
        let rods: Option<Vec<RodLength>> = self
            .variants()
            .iter()
            .map(|variant| variant.short_rod)
            .collect();
        rods.and_then(|rods| rods.into_iter().max())
    }

    /// The kind of kit it is, with every way in which it goes together, filled from the stock of `stubs`
    /// where its rod is too long; nothing if it does not go together.
    pub(super) fn kind(&self, shelf: &Shelf, stubs: &mut Stubs) -> Option<Kind> {
        let mut way = |variant: &Variant| {
            let slots = self.slots.iter().enumerate().map(|(index, slot)| {
                let place = self.fitted.iter().position(|fitted| *fitted == index);
                let parts = place.map_or(&slot.parts, |place| &variant.slots[place]);
                let mut alternatives: Vec<usize> = parts
                    .iter()
                    .map(|part| stubs.source(shelf, *part, (self.family, variant.short_rod)))
                    .collect();
                alternatives.sort_unstable();
                alternatives.dedup();
                Filled {
                    quantity: slot.quantity,
                    alternatives,
                }
            });
            slots.collect()
        };
        let ways: Vec<Vec<Filled>> = self.variants().iter().map(&mut way).collect();
        (!ways.is_empty()).then_some(Kind { ways, wanted: None })
    }
}

/// What of a slot the site permits: what it bars is never offered. A slot of which it permits nothing
/// stays as it is, so that what is barred can be named.
fn permitted(shelf: &Shelf, parts: Vec<usize>) -> Vec<usize> {
    let may = |part: &&usize| shelf.parts[**part].held_because.is_none();
    let permitted: Vec<usize> = parts.iter().filter(may).copied().collect();
    if permitted.is_empty() {
        parts
    } else {
        permitted
    }
}

/// The stubs of a site that can take the place of rods that are too long for a cap. They have places of
/// their own in the stock, after the parts of the shelf.
#[derive(Debug)]
pub(super) struct Stubs {
    jar: Vec<store::stubs::Group>,
    site: sites::Model,
    parts: usize,
    pools: Vec<Pool>,
}

#[derive(Debug, PartialEq, Eq)]
struct Pool {
    class: ElectrodeClass,
    diameter: Diameter,
    shortest: RodLength,
    longest: RodLength,
}

/// Stubs of one class and diameter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Fitting {
    /// How many fit.
    pub(super) fit: i64,
    /// The shortest and the longest of them, in micrometres.
    pub(super) lengths: Option<(i64, i64)>,
    /// How many nobody measured.
    pub(super) unmeasured: i64,
}

impl Stubs {
    /// Reads the jar of a site.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        site: &sites::Model,
        shelf: &Shelf,
    ) -> Result<Self, Error> {
        Ok(Self {
            jar: store::stubs::jar(db, site.id, Which::default()).await?,
            site: site.clone(),
            parts: shelf.parts.len(),
            pools: Vec::new(),
        })
    }

    /// The shortest rod that a collet of the family grips: as the site says, or as is assumed.
    pub(super) fn shortest(&self, family: BodyFamily) -> RodLength {
        let told = self
            .site
            .discard_um
            .and_then(|um| RodLength::from_um(um).ok());
        told.unwrap_or_else(|| kit::discard_length_assumed(family))
    }

    /// What there is of a class and diameter, between what a collet grips and what the cap allows.
    pub(super) fn fitting(
        &self,
        class: ElectrodeClass,
        diameter: Diameter,
        (shortest, longest): (RodLength, RodLength),
    ) -> Fitting {
        let mut told = Fitting::default();
        if !site_rules::of_class(&self.site, class.symbol()).is_permitted() {
            return told;
        }
        let same = |group: &&store::stubs::Group| {
            group.class == class.symbol() && group.diameter_um == diameter.um()
        };
        for group in self.jar.iter().filter(same) {
            match group.length_um.map(RodLength::from_um) {
                Some(Ok(length)) if kit::stub_fits(length, shortest, longest) => {
                    told.fit += group.quantity;
                    let (least, most) = told.lengths.unwrap_or((length.um(), length.um()));
                    told.lengths = Some((least.min(length.um()), most.max(length.um())));
                }
                Some(_) => {}
                None => told.unmeasured += group.quantity,
            }
        }
        told
    }

    /// Where a part is drawn from: its own stock, or the stubs of its class if its rods are too long.
    fn source(
        &mut self,
        shelf: &Shelf,
        part: usize,
        (family, short_rod): (BodyFamily, Option<RodLength>),
    ) -> usize {
        let (
            Some(longest),
            PartSpec::Electrode {
                class,
                diameter,
                length,
            },
        ) = (short_rod, &shelf.parts[part].spec)
        else {
            return part;
        };
        if length.is_some_and(|length| length <= longest) {
            return part;
        }
        let pool = Pool {
            class: *class,
            diameter: *diameter,
            shortest: self.shortest(family),
            longest,
        };
        let place = self.pools.iter().position(|known| *known == pool);
        self.parts
            + place.unwrap_or_else(|| {
                self.pools.push(pool);
                self.pools.len() - 1
            })
    }

    /// The whole stock: the parts of the shelf, then the stubs that were asked for.
    pub(super) fn stock(&self, shelf: &Shelf) -> Vec<i64> {
        let parts = shelf.parts.iter().map(|part| part.available);
        let stubs = self.pools.iter();
        let stubs = stubs.map(|pool| {
            self.fitting(pool.class, pool.diameter, (pool.shortest, pool.longest))
                .fit
        });
        parts.chain(stubs).collect()
    }

    /// The part of the shelf that a place in the stock stands for, given the kit's parts.
    pub(super) fn part_of(&self, place: usize, shelf: &Shelf) -> Option<usize> {
        if place < self.parts {
            return Some(place);
        }
        let pool = self.pools.get(place - self.parts)?;
        shelf.parts.iter().position(|part| {
            matches!(&part.spec, PartSpec::Electrode { class, diameter, .. }
                if *class == pool.class && *diameter == pool.diameter)
        })
    }
}
