//! Whether the stock of a torch's site makes a kit for it. Which parts mate at their seats is not
//! asked here: parts are counted, and rods are compared with the back cap.

use std::collections::HashMap;

use domain::kit::{self, Slot};
use domain::part::{BodyFamily, PartSpec};
use domain::safety::{About, Moment, cautions_at};
use domain::size::RodLength;
use sea_orm::ConnectionTrait;
use types::{KitCheck, KitCheckLine};

use super::ledger::book;
use super::{Context, Error, codes, parts, site_rules};
use crate::store;
use crate::store::entity::{kit_lines, parts as part_rows, sites};
use crate::store::stubs::Which;

mod words;

/// A kit that can be put together.
const COMPLETE: &str = "complete";
/// A kit that wants parts.
const INCOMPLETE: &str = "incomplete";
/// A kit with a part that the site does not permit.
const NOT_PERMITTED: &str = "not permitted";

/// One part of the kit, with what there is of it.
struct Checked {
    part: part_rows::Model,
    spec: PartSpec,
    slot: Slot,
    held_because: Option<String>,
    short_rod: Option<ShortRod>,
}

/// A rod that goes under a short back cap.
struct ShortRod {
    longest: RodLength,
    discard: RodLength,
    /// Stubs of the jar that fit.
    fit: i64,
    /// Stubs that nobody measured.
    unmeasured: i64,
    /// Full rods that one could cut.
    rods: i64,
}

/// The site of the check, and the rod lengths that hold there.
struct Place<'a> {
    site: &'a sites::Model,
    longest: Option<RodLength>,
    discard: RodLength,
}

/// Checks a kit for a torch.
pub async fn get(context: &Context, torch: &str, kit: &str) -> Result<KitCheck, Error> {
    let db = context.store.read();
    let torch = codes::torch(db, torch).await?;
    let kit = codes::kit(db, kit).await?;
    let site = store::sites::get_many(db, [torch.site_id]).await?.pop();
    let site = site.ok_or_else(|| Error::Internal("a torch lost its site".to_owned()))?;
    let family = BodyFamily::parse(&torch.family);
    let family = family.map_err(|error| Error::Internal(error.to_string()))?;
    let told = site.discard_um.and_then(|um| RodLength::from_um(um).ok());
    let lines = store::kits::lines(db, [kit.id]).await?;
    let specs = specs(db, &lines).await?;
    let place = Place {
        site: &site,
        longest: kit::longest_rod(specs.iter().map(|(_, spec)| spec)),
        discard: told.unwrap_or_else(|| kit::discard_length_assumed(family)),
    };
    let checked = check(db, &lines, specs, &place).await?;
    let slots: Vec<Slot> = checked.iter().map(|part| part.slot).collect();
    let (count, limit) = kit::count(&slots);
    let limit = limit.map(|index| &checked[index]);
    let state = if checked.iter().any(|part| part.held_because.is_some()) {
        NOT_PERMITTED
    } else if count == 0 {
        INCOMPLETE
    } else {
        COMPLETE
    };
    let about = About::parts(checked.iter().map(|part| &part.spec));
    let assumed = told.is_none() && checked.iter().any(|part| part.short_rod.is_some());
    Ok(KitCheck {
        torch: torch.code,
        kit: kit.code,
        site: site.code.clone(),
        state: state.to_owned(),
        count,
        limited_by: limit.map(|part| part.part.code.clone()),
        says: words::says(&checked, count, limit, &site),
        assumes: assumed
            .then(|| words::assumed_discard(place.discard, family))
            .into_iter()
            .collect(),
        lines: checked.iter().map(line).collect(),
        cautions: cautions_at(&[Moment::KitCheck], &about),
        as_of: context.clock.now(),
    })
}

async fn specs(
    db: &impl ConnectionTrait,
    lines: &[kit_lines::Model],
) -> Result<Vec<(part_rows::Model, PartSpec)>, Error> {
    let rows = store::parts::get_many(db, lines.iter().map(|line| line.part_id)).await?;
    let mut rows: HashMap<i64, part_rows::Model> =
        rows.into_iter().map(|row| (row.id, row)).collect();
    let in_order = lines.iter().filter_map(|line| rows.remove(&line.part_id));
    in_order
        .map(|row| {
            let spec = parts::spec(&row)?;
            Ok((row, spec))
        })
        .collect()
}

async fn check(
    db: &impl ConnectionTrait,
    lines: &[kit_lines::Model],
    specs: Vec<(part_rows::Model, PartSpec)>,
    place: &Place<'_>,
) -> Result<Vec<Checked>, Error> {
    let site = place.site;
    let keys = specs.iter().map(|(part, _)| (part.id, site.id));
    let levels = store::levels::find_many(db, keys).await?;
    let mut checked = Vec::with_capacity(specs.len());
    for (part, spec) in specs {
        let level = levels.iter().find(|row| row.part_id == part.id);
        let level = level.map(book::read).unwrap_or_default();
        let rods = book::level(&level, &part, site).usable();
        let needed = lines.iter().find(|line| line.part_id == part.id);
        let short_rod = short_rod(db, (&part, &spec), rods, place).await?;
        let slot = Slot {
            needed: needed.map_or(1, |line| line.quantity),
            available: short_rod.as_ref().map_or(rods, |rod| rod.fit),
        };
        checked.push(Checked {
            held_because: site_rules::held_because(site, site_rules::of_part(site, &part)),
            part,
            spec,
            slot,
            short_rod,
        });
    }
    Ok(checked)
}

/// An electrode that is delivered too long for the back cap of the kit comes from the stub jar.
async fn short_rod(
    db: &impl ConnectionTrait,
    (part, spec): (&part_rows::Model, &PartSpec),
    rods: i64,
    place: &Place<'_>,
) -> Result<Option<ShortRod>, Error> {
    let (PartSpec::Electrode { class, length, .. }, Some(longest)) = (spec, place.longest) else {
        return Ok(None);
    };
    if length.is_some_and(|length| length <= longest) {
        return Ok(None);
    }
    let mut rod = ShortRod {
        longest,
        discard: place.discard,
        fit: 0,
        unmeasured: 0,
        rods,
    };
    if !site_rules::of_part(place.site, part).is_permitted() {
        return Ok(Some(rod));
    }
    let which = Which {
        class: Some(class.symbol()),
        diameter_um: part.diameter_um,
    };
    for group in store::stubs::jar(db, place.site.id, which).await? {
        match group.length_um.map(RodLength::from_um) {
            Some(Ok(length)) if kit::stub_fits(length, place.discard, longest) => {
                rod.fit += group.quantity;
            }
            Some(_) => {}
            None => rod.unmeasured += group.quantity,
        }
    }
    Ok(Some(rod))
}

fn line(checked: &Checked) -> KitCheckLine {
    KitCheckLine {
        part: checked.part.code.clone(),
        name: checked.spec.describe(),
        quantity: checked.slot.needed,
        available: checked.slot.available,
        missing: checked.slot.missing(),
        stubs: checked.short_rod.as_ref().map(|rod| rod.fit),
        held_because: checked.held_because.clone(),
    }
}
