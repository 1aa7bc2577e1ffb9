//! One entry, with what it moved and counted, what takes it back, and what was asked about it.

use domain::size::{Diameter, RodLength};
use types::{CountedPart, Entry, MovedPart, MovedStubs};
use uuid::Uuid;

use super::lists::Codes;
use super::{variance, words};
use crate::service::{Context, Error, instant};
use crate::store;
use crate::store::entity::stubs;

/// One entry.
pub async fn get_entry(context: &Context, id: Uuid) -> Result<Entry, Error> {
    let db = context.store.read();
    let row = store::entries::find(db, id)
        .await?
        .ok_or_else(|| Error::NotFound {
            kind: "entry",
            key: id.to_string(),
        })?;
    let moved = store::movements::of_entries(db, [id]).await?;
    let count = store::counts::of_entries(db, [id]).await?.pop();
    let parts = moved
        .iter()
        .map(|row| (row.part_id, row.site_id))
        .chain(count.iter().map(|row| (row.part_id, row.site_id)))
        .chain(row.exposed_part_id.map(|part| (part, row.site_id)));
    let codes = Codes::load(db, vec![row.clone()], parts).await?;
    let moved = moved.iter().map(|row| MovedPart {
        part: codes.part(row.part_id),
        site: codes.site(row.site_id),
        kind: row.kind.clone(),
        quantity: row.quantity,
    });
    let counted = match count {
        None => None,
        Some(count) => {
            let found = variance(db, count).await?;
            Some(CountedPart {
                part: codes.part(found.count.part_id),
                counted: found.count.counted,
                book: found.count.book,
                variance: found.amount(),
            })
        }
    };
    let stubs = store::stubs::of_entry(db, id).await?;
    let reversed_by = store::entries::reversal_of(db, id).await?;
    let questions = store::questions::of_entries(db, &[id]).await?;
    Ok(Entry {
        entry: id,
        says: words::entry(&row),
        site: codes.site(row.site_id),
        torch: codes.torch(row.torch_id),
        job: codes.job(row.job_id),
        moved: moved.collect(),
        stubs: stubs.into_iter().map(moved_stubs).collect(),
        ground: row.exposed_part_id.map(|part| codes.part(part)),
        counted,
        reversed_by: reversed_by.map(|entry| entry.id),
        questions: questions.into_iter().map(|question| question.id).collect(),
        at: instant::with_offset(row.happened_at, row.offset_minutes),
        device_at: row.device_at.map(instant::from_micros),
        clock_ahead_seconds: row.clock_ahead_seconds,
        received_at: instant::from_micros(row.received_at),
        kind: row.kind,
        group: row.operator_group,
        lot: row.lot,
        why: row.why,
        by: row.person,
        note: row.note,
        reverses: row.reverses,
    })
}

fn moved_stubs(row: stubs::Model) -> MovedStubs {
    let diameter = Diameter::from_um(row.diameter_um);
    let length = row.length_um.and_then(|um| RodLength::from_um(um).ok());
    MovedStubs {
        class: row.class,
        diameter: diameter.map_or_else(String::new, |diameter| diameter.to_string()),
        length: length.map(|length| length.to_string()),
        lot: row.lot,
        quantity: row.quantity,
    }
}
