//! Allocations as people ask for them. How a promise is recorded is with the ledger.

use sea_orm::ConnectionTrait;
use types::{Allocation, AllocationPage, ListAllocations, Page};

use super::{Context, Error, codes, instant};
use crate::store;

/// A page of allocations, by job, part and site.
pub async fn list(context: &Context, query: &ListAllocations) -> Result<AllocationPage, Error> {
    let db = context.store.read();
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let limit = usize::try_from(limit).unwrap_or(usize::MAX);
    // Few promises are open at a time, so a page is cut from all of them.
    let mut all = open(db, query).await?;
    all.sort_by_key(cursor);
    if let Some(after) = &query.after {
        all.retain(|allocation| cursor(allocation) > *after);
    }
    let more = all.len() > limit;
    all.truncate(limit);
    let next = all.last().filter(|_| more).map(cursor);
    Ok(AllocationPage {
        allocations: all,
        next,
    })
}

fn cursor(allocation: &Allocation) -> String {
    let keys = [&allocation.job, &allocation.part, &allocation.site];
    keys.map(|code| codes::key(code)).join(" ")
}

async fn open(
    db: &impl ConnectionTrait,
    query: &ListAllocations,
) -> Result<Vec<Allocation>, Error> {
    let part = match query.part.as_deref() {
        Some(code) => Some(codes::named_part(db, "?part", code).await?.id),
        None => None,
    };
    let mut rows = match query.job.as_deref() {
        Some(code) => {
            let job = codes::named_job(db, "?job", code).await?;
            store::movements::promises(db, [job.id]).await?
        }
        None => store::movements::all_promises(db, part).await?,
    };
    rows.retain(|row| part.is_none_or(|part| row.part_id == part));
    let jobs = store::jobs::get_many(db, rows.iter().map(|row| row.job_id)).await?;
    let parts = store::parts::get_many(db, rows.iter().map(|row| row.part_id)).await?;
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let told = rows.into_iter().filter_map(|row| {
        Some(Allocation {
            job: jobs.iter().find(|job| job.id == row.job_id)?.code.clone(),
            part: parts
                .iter()
                .find(|part| part.id == row.part_id)?
                .code
                .clone(),
            site: sites
                .iter()
                .find(|site| site.id == row.site_id)?
                .code
                .clone(),
            quantity: row.quantity,
            changed_at: instant::from_micros(row.changed_at),
        })
    });
    Ok(told.collect())
}
