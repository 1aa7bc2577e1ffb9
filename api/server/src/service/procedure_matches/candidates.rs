//! The candidates of a match: what is in the drawers and in the stub jar of the site, each with what
//! the procedure and the rule of the site say of it.

use std::collections::BTreeMap;

use domain::class::ElectrodeClass;
use domain::ledger::MovementKind;
use domain::part::{PartKind, PartSpec};
use domain::procedure::{NamedThing, Reason, State, Verdict};
use domain::size::{Diameter, RodLength};
use sea_orm::ConnectionTrait;
use types::{LotLeft, MatchRow};

use super::Asked;
use crate::service::ledger::book;
use crate::service::procedures::InForce;
use crate::service::{Error, codes, instant, parts, site_rules};
use crate::store;
use crate::store::entity::parts as part_rows;
use crate::store::stubs::{Group, Which};

/// A candidate, with what the words and the sums need beside its row.
pub(super) struct Held {
    pub(super) row: MatchRow,
    pub(super) spec: PartSpec,
    pub(super) class: Option<ElectrodeClass>,
    pub(super) state: State,
    pub(super) reasons: Vec<Reason>,
    /// How many are neither held nor promised.
    pub(super) free: i64,
    /// Whether it is one of those that are needed.
    pub(super) counts: bool,
    pub(super) is_other_size: bool,
    pub(super) is_barred: bool,
    pub(super) to_sign: Option<(String, NamedThing)>,
}

impl Held {
    pub(super) fn is_matching(&self) -> bool {
        self.state == State::Matches && self.counts
    }
}

/// Every candidate in stock, electrodes first, then by code; stubs last.
pub(super) async fn load(db: &impl ConnectionTrait, asked: &Asked) -> Result<Vec<Held>, Error> {
    let parts = match &asked.part {
        Some(part) => vec![part.clone()],
        None => concerned(db, &asked.in_force).await?,
    };
    let keys = parts.iter().map(|part| (part.id, asked.site.id));
    let levels = store::levels::find_many(db, keys).await?;
    let mut lots = lots(db, asked.site.id, &parts).await?;
    let mut held = Vec::new();
    for part in parts {
        let level = levels.iter().find(|row| row.part_id == part.id);
        let book = level.map(book::read).unwrap_or_default();
        if book.on_hand.on_hand == 0 && asked.part.is_none() {
            continue;
        }
        let lots = lots.remove(&part.id).unwrap_or_default();
        held.push(whole(asked, part, (book, lots))?);
    }
    let stubs = asked.part.is_none();
    if stubs {
        for group in store::stubs::jar(db, asked.site.id, Which::default()).await? {
            held.push(stub(db, asked, group).await?);
        }
    }
    Ok(held)
}

/// The parts that the procedure fixes something of.
async fn concerned(
    db: &impl ConnectionTrait,
    in_force: &InForce,
) -> Result<Vec<part_rows::Model>, Error> {
    let kinds = [
        PartKind::Electrode,
        PartKind::Cup,
        PartKind::ColletBody,
        PartKind::GasLens,
        PartKind::ShieldingGas,
        PartKind::FillerRod,
    ];
    let rows = store::parts::of_kinds(db, kinds.map(PartKind::as_str)).await?;
    let mut concerned = Vec::new();
    for row in rows {
        let spec = parts::spec(&row)?;
        if in_force.requirement.concerns(&spec) {
            let place = kinds.iter().position(|kind| *kind == spec.kind());
            concerned.push((place, row));
        }
    }
    // A stable sort: within a kind they stay in the order of their codes.
    concerned.sort_by_key(|(place, _)| *place);
    Ok(concerned.into_iter().map(|(_, row)| row).collect())
}

/// What is left of the lots of those parts, by their own books.
async fn lots(
    db: &impl ConnectionTrait,
    site: i64,
    parts: &[part_rows::Model],
) -> Result<BTreeMap<i64, Vec<LotLeft>>, Error> {
    let rows = store::movements::lots_at(db, site, parts.iter().map(|part| part.id)).await?;
    let mut sums: BTreeMap<(i64, String), LotLeft> = BTreeMap::new();
    for row in rows {
        let sign = MovementKind::parse(&row.kind).map_or(0, MovementKind::on_hand_sign);
        let lot = row.lot.unwrap_or_else(|| row.lot_key.clone());
        let left = sums
            .entry((row.part_id, row.lot_key))
            .or_insert(LotLeft { lot, quantity: 0 });
        left.quantity = left.quantity.saturating_add(sign * row.quantity);
    }
    let mut lots: BTreeMap<i64, Vec<LotLeft>> = BTreeMap::new();
    for ((part, _), left) in sums {
        if left.quantity > 0 {
            lots.entry(part).or_default().push(left);
        }
    }
    Ok(lots)
}

/// A part as delivered.
fn whole(
    asked: &Asked,
    part: part_rows::Model,
    (book, mut lots): (domain::ledger::Book, Vec<LotLeft>),
) -> Result<Held, Error> {
    let spec = parts::spec(&part)?;
    let level = book::level(&book, &part, &asked.site);
    let verdict = asked.in_force.verdict(&part)?;
    // A lot cannot have more left than there is in the drawers.
    let mut there = level.on_hand.max(0);
    for lot in &mut lots {
        lot.quantity = lot.quantity.min(there);
        there -= lot.quantity;
    }
    lots.retain(|lot| lot.quantity > 0);
    let because = site_rules::held_because(&asked.site, site_rules::of_part(&asked.site, &part));
    let counts = asked.part.is_some() || spec.class().is_some();
    let row = MatchRow {
        part: Some(part.code),
        name: spec.describe(),
        kind: spec.kind().as_str().to_owned(),
        stub: false,
        marking: part.marking,
        quantity: level.on_hand,
        unit: spec.kind().unit().as_str().to_owned(),
        available: level.usable(),
        usable: 0,
        lots,
        verdict: String::new(),
        reason: String::new(),
        equivalence: None,
        signed_at: None,
    };
    Ok(held((row, spec, counts), verdict, because, &asked.in_force))
}

/// Stubs of the jar.
async fn stub(db: &impl ConnectionTrait, asked: &Asked, group: Group) -> Result<Held, Error> {
    let lost = || Error::Internal("a stub cannot be read back".to_owned());
    let class = ElectrodeClass::parse(&group.class).unwrap_or(ElectrodeClass::Unidentified);
    let length = group.length_um.and_then(|um| RodLength::from_um(um).ok());
    let spec = PartSpec::Electrode {
        class,
        diameter: Diameter::from_um(group.diameter_um).ok_or_else(lost)?,
        length,
    };
    let packet = packet(db, &group).await?;
    let marking = packet.as_ref().and_then(|part| part.marking.clone());
    let known = packet.is_some() || (group.lot.is_some() && !on_record(db, &group).await?);
    let verdict = asked
        .in_force
        .verdict_of_stub(&spec, marking.as_deref(), known);
    let because =
        site_rules::held_because(&asked.site, site_rules::of_class(&asked.site, &group.class));
    let lot = group.lot.map(|lot| LotLeft {
        lot,
        quantity: group.quantity,
    });
    let row = MatchRow {
        part: None,
        name: format!("Stub, {}", spec.describe()),
        kind: spec.kind().as_str().to_owned(),
        stub: true,
        marking,
        quantity: group.quantity,
        unit: spec.kind().unit().as_str().to_owned(),
        available: if because.is_some() {
            0
        } else {
            group.quantity.max(0)
        },
        usable: 0,
        lots: lot.into_iter().collect(),
        verdict: String::new(),
        reason: String::new(),
        equivalence: None,
        signed_at: None,
    };
    Ok(held((row, spec, false), verdict, because, &asked.in_force))
}

/// The part that a stub was cut from, by its lot: one of its own class and diameter.
async fn packet(
    db: &impl ConnectionTrait,
    group: &Group,
) -> Result<Option<part_rows::Model>, Error> {
    let of = parts_of_lot(db, group).await?;
    let same = |part: &part_rows::Model| {
        part.class.as_deref() == Some(&*group.class) && part.diameter_um == Some(group.diameter_um)
    };
    Ok(of.into_iter().find(same))
}

/// Whether the lot of a stub ever came in, of whatever part.
async fn on_record(db: &impl ConnectionTrait, group: &Group) -> Result<bool, Error> {
    Ok(!parts_of_lot(db, group).await?.is_empty())
}

async fn parts_of_lot(
    db: &impl ConnectionTrait,
    group: &Group,
) -> Result<Vec<part_rows::Model>, Error> {
    let lot = group.lot.as_deref().map(codes::key);
    let sums = store::movements::lot_sums(db, lot).await?;
    Ok(store::parts::get_many(db, sums.iter().map(|sum| sum.part_id)).await?)
}

/// Puts the verdict of the procedure and the rule of the site together: what the site bars matches
/// nothing there.
fn held(
    (mut row, spec, counts): (MatchRow, PartSpec, bool),
    verdict: Verdict<'_>,
    because: Option<String>,
    in_force: &InForce,
) -> Held {
    let is_barred = because.is_some();
    let state = if is_barred {
        State::DoesNotMatch
    } else {
        verdict.state
    };
    let reasons = [Some(verdict.because()).filter(|it| !it.is_empty()), because];
    let reasons: Vec<String> = reasons.into_iter().flatten().collect();
    row.reason = reasons.join("; ");
    state.as_str().clone_into(&mut row.verdict);
    if state == State::Matches {
        row.usable = row.available;
        if let Some(signed) = verdict.equivalence {
            let at = in_force.signature(&signed.id);
            row.signed_at = at.map(|it| instant::with_offset(it.signed_at, it.offset_minutes));
            row.equivalence = Some(signed.id.clone());
        }
    }
    let other_size = |reason: &Reason| matches!(reason, Reason::Size { .. });
    Held {
        class: spec.class(),
        state,
        free: row.available,
        counts,
        is_other_size: verdict.reasons.iter().any(other_size),
        is_barred,
        to_sign: verdict.to_sign.filter(|_| !is_barred),
        reasons: verdict.reasons,
        spec,
        row,
    }
}
