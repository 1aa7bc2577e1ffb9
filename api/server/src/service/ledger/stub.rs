//! The stub jar: the old electrode of a torch, stubs without a torch, and taking such entries back.
//! The jar is no stock of full rods, so nothing here touches levels.

use domain::class::ElectrodeClass;
use domain::size::RodLength;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, DatabaseTransaction, NotSet};
use types::{NewStub, NewUsage, Recorded, StubKind, StubMove, What};

use super::barred::{self, Used};
use super::books::Books;
use super::names::Names;
use super::page::Page;
use super::placed::Placed;
use super::{Answer, Request, cautions, clocks, off_procedure, plan, words};
use crate::service::Error;
use crate::store;
use crate::store::entity::{entries, sites, stubs};
use crate::store::stubs::{Group, Which};

/// Puts the old electrode of a torch into the jar, with its class, diameter and, where it is known,
/// its lot.
pub(super) async fn of_torch(
    tx: &DatabaseTransaction,
    (request, usage): (&Request, &NewUsage),
    names: &Names,
    (books, page): (&mut Books, &mut Page),
) -> Result<Answer, Error> {
    let placed = Placed::find(
        request,
        usage.circumstances(),
        usage.torch.as_deref(),
        names,
    )?;
    let read = clocks::read(tx, usage, &placed).await?;
    let (usage, told) = (&read.usage, read.usage.circumstances());
    let part = plan::electrode(usage, names, placed.torch, "becomes a stub")?;
    let mut entry = placed.entry(request, "usage", told);
    plan::describe(&mut entry, usage, Some(What::Stub));
    if entry.lot.is_none() {
        entry.lot = lot_of_taken(tx, &entry, part.id).await?;
    }
    plan::wear(&entry, placed.torch, books)?;
    let length = usage.length.as_deref().map(RodLength::parse).transpose();
    let length = length.map_err(|error| Error::invalid("/length", error))?;
    let mut group = Group {
        class: part.class.clone().unwrap_or_default(),
        diameter_um: part.diameter_um.unwrap_or_default(),
        length_um: length.map(RodLength::um),
        lot: entry.lot.clone(),
        quantity: usage.qty.unwrap_or(1),
    };
    page.stub(row(&entry, &group, group.quantity));
    let done = words::stubbed(&group, placed.torch);
    let used: Vec<Used> = Used::part(part, placed.site).into_iter().collect();
    let told = barred::tell(tx, (&entry, placed.site), &used, page).await?;
    group.quantity += there(tx, placed.site.id, &group).await?;
    let moments = cautions::of_use(usage, Some(What::Stub), entry.grinds > 0);
    let recorded = Recorded {
        entry: entry.id,
        says: read.says.clone() + &done + &words::in_jar(&group, placed.site) + &told.says,
        cautions: cautions::of_parts(&moments, &[part]),
        stock: Vec::new(),
        questions: told.questions,
        differences: Vec::new(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}

/// The lot of the electrode that the torch has, as far as it was told when it was taken. An electrode
/// that was taken without a lot has none, whatever the one before it had.
async fn lot_of_taken(
    db: &impl ConnectionTrait,
    entry: &entries::Model,
    part: i64,
) -> Result<Option<String>, Error> {
    let Some(torch) = entry.torch_id else {
        return Ok(None);
    };
    let taken = store::entries::last_taken(db, (torch, part), entry.happened_at).await?;
    Ok(taken.and_then(|taken| taken.lot))
}

/// Stubs that go into the jar, or come out of it, without a torch.
pub(super) async fn record(
    tx: &DatabaseTransaction,
    (request, stubs): (&Request, &NewStub),
    (what, kind): (StubMove, StubKind),
    names: &Names,
    page: &mut Page,
) -> Result<Answer, Error> {
    let told = stubs.circumstances();
    let placed = Placed::find(request, told, None, names)?;
    let quantity = stubs.quantity.unwrap_or(1);
    let wanted = Group {
        class: kind.class.symbol().to_owned(),
        diameter_um: kind.diameter.um(),
        length_um: kind.length.map(RodLength::um),
        lot: stubs.lot.clone(),
        quantity,
    };
    let (mut group, change) = match what {
        StubMove::Add => {
            let there = there(tx, placed.site.id, &wanted).await?;
            (
                Group {
                    quantity: there,
                    ..wanted
                },
                quantity,
            )
        }
        StubMove::Take | StubMove::Scrap => (from_jar(tx, placed.site, &wanted).await?, -quantity),
    };
    let mut entry = placed.entry(request, "stubs", told);
    entry.lot.clone_from(&group.lot);
    page.stub(row(&entry, &group, change));
    group.quantity += change;
    let done = words::stubs_moved(what, quantity, &group);
    // One question for all stubs that are alike to the rule, whatever their length and lot.
    let name = words::stub_name(&Group {
        length_um: None,
        lot: None,
        ..group.clone()
    });
    let used = Used::stub(&name, &group.class, placed.site);
    let used: Vec<Used> = used
        .filter(|_| what == StubMove::Take)
        .into_iter()
        .collect();
    let off_procedure = match what {
        StubMove::Take => off_procedure::of_stub((&entry, told.job), (&name, &group), names),
        StubMove::Add | StubMove::Scrap => String::new(),
    };
    let told = barred::tell(tx, (&entry, placed.site), &used, page).await?;
    let recorded = Recorded {
        entry: entry.id,
        says: done + &words::in_jar(&group, placed.site) + &off_procedure + &told.says,
        cautions: cautions::of_stubs(what, kind.class),
        stock: Vec::new(),
        questions: told.questions,
        differences: Vec::new(),
    };
    page.enter(entry);
    page.answer(request, &recorded)
}

/// How many of exactly those stubs are in the jar.
async fn there(db: &impl ConnectionTrait, site: i64, of: &Group) -> Result<i64, Error> {
    let jar = store::stubs::jar(db, site, which(of)).await?;
    let same = jar
        .iter()
        .find(|group| group.length_um == of.length_um && group.is_of_lot(of.lot.as_deref()));
    Ok(same.map_or(0, |group| group.quantity))
}

/// The one group of the jar that is meant, if it has enough.
async fn from_jar(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    wanted: &Group,
) -> Result<Group, Error> {
    let mut meant = store::stubs::jar(db, site.id, which(wanted)).await?;
    meant.retain(|group| {
        (wanted.length_um.is_none() || group.length_um == wanted.length_um)
            && (wanted.lot.is_none() || group.is_of_lot(wanted.lot.as_deref()))
    });
    let name = words::stub_name(wanted);
    if meant.len() > 1 {
        let choices: Vec<String> = meant
            .iter()
            .map(|group| format!("{} {}", group.quantity, words::stub_name(group)))
            .collect();
        let why = format!(
            "which {name} is not clear: the jar has {}; give length or lot",
            choices.join(", ")
        );
        return Err(Error::invalid("/length", why));
    }
    let there = meant.first().map_or(0, |group| group.quantity);
    meant
        .pop()
        .filter(|_| wanted.quantity <= there)
        .ok_or_else(|| {
            let why = format!(
                "{} stubs of {name} cannot come out: {there} in the jar at {}; see the jar, or add what was missed",
                wanted.quantity, site.code
            );
            Error::invalid("/quantity", why)
        })
}

fn which(group: &Group) -> Which<'_> {
    Which {
        class: Some(&group.class),
        diameter_um: Some(group.diameter_um),
    }
}

fn row(entry: &entries::Model, group: &Group, quantity: i64) -> stubs::ActiveModel {
    stubs::ActiveModel {
        id: NotSet,
        entry_id: Set(entry.id),
        site_id: Set(entry.site_id),
        class: Set(group.class.clone()),
        diameter_um: Set(group.diameter_um),
        length_um: Set(group.length_um),
        lot: Set(group.lot.clone()),
        quantity: Set(quantity),
        happened_at: Set(entry.happened_at),
    }
}

/// Takes back what an entry did to the jar.
pub(super) async fn unmove(
    tx: &DatabaseTransaction,
    entry: &entries::Model,
    back: &entries::Model,
    page: &mut Page,
) -> Result<(), Error> {
    for moved in store::stubs::of_entry(tx, entry.id).await? {
        let group = Group {
            class: moved.class,
            diameter_um: moved.diameter_um,
            length_um: moved.length_um,
            lot: moved.lot,
            quantity: moved.quantity,
        };
        let there = there(tx, moved.site_id, &group).await?;
        if there < moved.quantity {
            let why = format!(
                "entry {} put {} stubs into the jar, and {there} are left; put the others back first",
                entry.id, moved.quantity
            );
            return Err(Error::WrongState(why));
        }
        page.stub(row(back, &group, -moved.quantity));
    }
    Ok(())
}

/// Whether a class is told well enough for a procedure that fixes the electrode.
pub(crate) fn is_known(class: &str) -> bool {
    ElectrodeClass::parse(class)
        .is_ok_and(|class| !matches!(class, ElectrodeClass::Unidentified | ElectrodeClass::Wg))
}
