//! Whether the stock of a torch's site makes a kit for it: whether its parts go together at their seats,
//! what is missing of it, and what mends that.

use domain::fit::Fault;
use domain::kit::count::{CountError, alone, fewest_more};
use domain::kit::variant::Assembly;
use domain::part::{BodyFamily, PartSpec};
use domain::safety::{About, Moment, cautions_at};
use sea_orm::ConnectionTrait;
use types::{FitCandidate, KitCheck, KitCheckLine};

use super::fits::{self, Shelf};
use super::kit_layout::{Fitting, Layout, Stubs};
use super::{Context, Error, codes, torches};
use crate::store::entity::{sites, torches as torch_rows};

mod remedy;
mod words;

/// A kit that can be put together.
const COMPLETE: &str = "complete";
/// A kit that wants parts.
const INCOMPLETE: &str = "incomplete";
/// A kit with a part that the site does not permit.
const NOT_PERMITTED: &str = "not permitted";

/// One slot of the kit, with what there is of it.
struct Checked {
    /// The first choice, as an index of the shelf.
    part: usize,
    /// All that will do and go together with the rest.
    usable: Vec<usize>,
    quantity: i64,
    available: i64,
    held_because: Option<String>,
    stubs: Option<Fitting>,
    remedy: remedy::Remedy,
}

impl Checked {
    fn missing(&self) -> i64 {
        (self.quantity - self.available.max(0)).max(0)
    }
}

/// A kit beside a torch.
struct Bench {
    torch: torch_rows::Model,
    site: sites::Model,
    family: BodyFamily,
    shelf: Shelf,
    layout: Layout,
    stubs: Stubs,
}

impl Bench {
    async fn load(
        db: &impl ConnectionTrait,
        torch: &str,
        kit: &str,
    ) -> Result<(Self, String), Error> {
        let torch = codes::torch(db, torch).await?;
        let kit = codes::kit(db, kit).await?;
        let site = torches::site(db, &torch).await?;
        let family = torches::family(&torch)?;
        let shelf = Shelf::load(db, &site).await?;
        let layout = Layout::load(db, &kit, (family, &shelf)).await?;
        let stubs = Stubs::load(db, &site, &shelf).await?;
        let bench = Self {
            torch,
            site,
            family,
            shelf,
            layout,
            stubs,
        };
        Ok((bench, kit.code))
    }

    /// How many kits the stock makes, and the part of which one more kit wants the most.
    fn count(&mut self) -> Result<(i64, Option<usize>), Error> {
        let Some(kind) = self.layout.kind(&self.shelf, &mut self.stubs) else {
            return Ok((0, None));
        };
        let stock = self.stubs.stock(&self.shelf);
        let count = alone(&stock, &kind).map_err(fault)?;
        let more = fewest_more(&stock, &[kind], &[count + 1]).map_err(fault)?;
        let slot_of = |part: usize| {
            self.layout
                .slots
                .iter()
                .position(|slot| slot.parts.contains(&part))
        };
        let limits = more.iter().filter_map(|(place, pieces)| {
            let part = self.stubs.part_of(*place, &self.shelf)?;
            Some((std::cmp::Reverse(*pieces), slot_of(part), part))
        });
        // Of several that limit alike, the first of the kit is named.
        let limit = limits.min().map(|(_, _, part)| part);
        Ok((count, limit))
    }

    fn checked(&self, slot: usize) -> Checked {
        let (kit, shelf) = (&self.layout.slots[slot], &self.shelf);
        let usable = self.layout.usable(slot);
        let part = kit.parts[0];
        let stubs = self.stubs_for(part);
        let rods: i64 = usable.iter().map(|part| shelf.parts[*part].available).sum();
        Checked {
            held_because: shelf.parts[part].held_because.clone(),
            available: stubs.map_or(rods, |stubs| stubs.fit),
            quantity: kit.quantity,
            part,
            usable,
            stubs,
            remedy: remedy::Remedy::default(),
        }
    }

    /// The stubs that take the place of a rod that is too long for the cap of the kit.
    fn stubs_for(&self, part: usize) -> Option<Fitting> {
        let longest = self.layout.short_rod()?;
        let PartSpec::Electrode {
            class,
            diameter,
            length,
        } = &self.shelf.parts[part].spec
        else {
            return None;
        };
        let is_long = length.is_none_or(|length| length > longest);
        is_long.then(|| {
            self.stubs.fitting(
                *class,
                *diameter,
                (self.stubs.shortest(self.family), longest),
            )
        })
    }

    /// The first choices of the slots that go into the torch.
    fn first_choices(&self) -> Vec<usize> {
        self.layout
            .fitted
            .iter()
            .map(|slot| self.layout.slots[*slot].parts[0])
            .collect()
    }

    fn faults(&self) -> &[Fault] {
        match &self.layout.assembly {
            Assembly::Fits(_) => &[],
            Assembly::Fails(fit) => &fit.faults,
        }
    }
}

/// Checks a kit for a torch.
pub async fn get(context: &Context, torch: &str, kit: &str) -> Result<KitCheck, Error> {
    let db = context.store.read();
    let now = context.clock.now();
    let (mut bench, kit) = Bench::load(db, torch, kit).await?;
    let (count, limit) = bench.count()?;
    let mut checked: Vec<Checked> = (0..bench.layout.slots.len())
        .map(|slot| bench.checked(slot))
        .collect();
    remedy::find(db, &bench, &mut checked, now).await?;
    let state = state(&bench, &checked, count);
    let set_up = bench.first_choices();
    let faults = bench.faults().iter();
    let faults: Vec<_> = faults
        .map(|fault| fits::fault(&bench.shelf, &set_up, (&bench.torch.code, fault)))
        .collect();
    Ok(KitCheck {
        torch: bench.torch.code.clone(),
        site: bench.site.code.clone(),
        state: state.to_owned(),
        count,
        limited_by: limit.map(|part| bench.shelf.parts[part].row.code.clone()),
        says: words::says(&bench, &checked, (state, count, limit), &faults),
        assumes: words::assumes(&bench, &checked),
        lines: checked
            .iter()
            .map(|slot| line(&bench.shelf, slot))
            .collect(),
        cautions: cautions(&bench, &checked),
        kit,
        faults,
        as_of: now,
    })
}

fn state(bench: &Bench, checked: &[Checked], count: i64) -> &'static str {
    if checked.iter().any(|slot| slot.held_because.is_some()) {
        return NOT_PERMITTED;
    }
    match &bench.layout.assembly {
        Assembly::Fits(_) if count > 0 => COMPLETE,
        Assembly::Fits(_) => INCOMPLETE,
        Assembly::Fails(fit) => fits::state(fit.state()),
    }
}

fn cautions(bench: &Bench, checked: &[Checked]) -> Vec<String> {
    let mut moments = vec![Moment::KitCheck];
    let misfit = bench.faults().iter().any(Fault::is_misfit);
    moments.extend(misfit.then_some(Moment::Mismatch));
    let parts = checked
        .iter()
        .flat_map(|slot| std::iter::once(slot.part).chain(slot.usable.clone()));
    let about = About::parts(parts.map(|part| &bench.shelf.parts[part].spec));
    cautions_at(&moments, &about)
}

fn line(shelf: &Shelf, slot: &Checked) -> KitCheckLine {
    let part = &shelf.parts[slot.part];
    let others = slot.usable.iter().filter(|other| **other != slot.part);
    let others = others.map(|other| &shelf.parts[*other]);
    KitCheckLine {
        part: part.row.code.clone(),
        name: part.spec.describe(),
        quantity: slot.quantity,
        available: slot.available,
        missing: slot.missing(),
        stubs: slot.stubs.map(|stubs| stubs.fit),
        held_because: slot.held_because.clone(),
        or: others
            .map(|other| FitCandidate {
                part: other.row.code.clone(),
                name: other.spec.describe(),
                available: other.available,
            })
            .collect(),
        borrow_from: slot.remedy.borrow_from(),
        next: slot.remedy.next.clone(),
    }
}

/// A count that the solver did not find is a fault of the service.
#[expect(
    clippy::needless_pass_by_value,
    reason = "it is the function that map_err takes"
)]
pub(super) fn fault(error: CountError) -> Error {
    Error::Internal(error.to_string())
}
