//! Parts that may be used in the place of one that counts: the alternatives of its slot in the kit, and
//! what a procedure that allows substitution permits. What there is of them counts with it.

use std::collections::BTreeSet;

use sea_orm::ConnectionTrait;
use types::PooledPart;

use super::procedure::{Instead, held_because};
use super::work::Work;
use super::{Weighed, promised};
use crate::service::Error;
use crate::service::known::{self, View};
use crate::service::ledger::book;
use crate::store;

/// Counts with each part what the procedure permits in its place.
pub(super) fn of_procedure(instead: &Instead, weighed: &mut [Weighed]) {
    let mut taken: BTreeSet<String> = weighed.iter().map(|line| line.part.code.clone()).collect();
    for line in weighed
        .iter_mut()
        .filter(|line| line.held_because.is_none())
    {
        let own = instead
            .allowed
            .iter()
            .filter(|it| it.instead_of == line.part.code);
        for allowed in own {
            // What stands in for one part cannot stand in for another as well.
            if allowed.available > 0 && taken.insert(allowed.part.clone()) {
                line.pooled.push(PooledPart {
                    part: allowed.part.clone(),
                    available: allowed.available,
                });
            }
        }
    }
}

/// Counts with each part the alternatives of its slot in the kit, unless the procedure allows no
/// substitution, or an alternative is not permitted.
pub(super) async fn of_kit(
    db: &impl ConnectionTrait,
    (kit, work, view): (Option<i64>, &Work, View),
    weighed: &mut [Weighed],
) -> Result<(), Error> {
    let substitution = work
        .in_force
        .as_ref()
        .is_none_or(|it| it.requirement.substitution);
    let (Some(kit), true) = (kit, substitution) else {
        return Ok(());
    };
    let alternatives = store::kits::alternatives(db, [kit]).await?;
    let ids: Vec<i64> = alternatives.iter().map(|row| row.alternative_id).collect();
    let parts = store::parts::get_many(db, ids.iter().copied()).await?;
    let levels = known::levels(db, view, (work.site.id, &ids)).await?;
    let mut taken: BTreeSet<i64> = weighed.iter().map(|line| line.part.id).collect();
    for line in weighed
        .iter_mut()
        .filter(|line| line.held_because.is_none())
    {
        for row in alternatives
            .iter()
            .filter(|row| row.part_id == line.part.id)
        {
            let Some(part) = parts.iter().find(|part| part.id == row.alternative_id) else {
                continue;
            };
            let book = levels.get(&part.id).copied().unwrap_or_default();
            let mut level = book::level(&book, part, &work.site);
            level.allocated -= promised(&work.promises, (part.id, work.site.id));
            let because = held_because(part, &work.site, work.in_force.as_ref())?;
            let available = level.usable();
            if because.is_none() && available > 0 && taken.insert(part.id) {
                line.pooled.push(PooledPart {
                    part: part.code.clone(),
                    available,
                });
            }
        }
    }
    Ok(())
}

/// That what stands in for a part is taken to wear like it.
pub(super) fn assumes(weighed: &[Weighed]) -> Vec<String> {
    let lines = weighed
        .iter()
        .flat_map(|line| line.pooled.iter().map(move |it| (line, it)));
    let told = lines.map(|(line, it)| {
        format!(
            "{} {} count with {}: assumes they wear alike.",
            line.unit.about(it.available),
            it.part,
            line.part.code
        )
    });
    told.collect()
}
