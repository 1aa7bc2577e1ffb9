//! Looking without being asked: soon after something was written, at the stock that it moved, and at
//! everything in a steady rhythm, for what time alone changes.

use std::collections::BTreeSet;
use std::time::Duration;

use types::NewLook;
use uuid::Uuid;

use super::{SITES_MAX, at_site, look};
use crate::service::{Context, Error};
use crate::store;

/// What is written within this time is looked at together.
const GATHER: Duration = Duration::from_secs(1);
/// So many of the newest entries are looked at; what more there was is looked at with everything.
const NEWEST: u64 = 500;

/// Looks for as long as the service runs: at everything at once, then every `every`; and at what was
/// written, a moment after it was. What fails is logged, and looked at again.
pub async fn keep_looking(context: Context, every: Duration) {
    let mut wrote = context.writer.wrote();
    let mut rhythm = tokio::time::interval(every);
    rhythm.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let mut seen = Vec::new();
    loop {
        let outcome = tokio::select! {
            _ = rhythm.tick() => look(&context, &NewLook::default()).await.map(|_| ()),
            written = wrote.changed() => {
                if written.is_err() {
                    // The writer is gone, and the service with it.
                    return;
                }
                tokio::time::sleep(GATHER).await;
                wrote.mark_unchanged();
                at_moved(&context, &mut seen).await
            }
        };
        if let Err(error) = outcome {
            tracing::warn!(error = &error as &dyn std::error::Error, "a look failed");
        }
    }
}

/// Looks at the stock of the parts that the newest entries moved, unless they are those that were `seen`
/// before: what a look writes itself is no reason to look again.
async fn at_moved(context: &Context, seen: &mut Vec<Uuid>) -> Result<(), Error> {
    let db = context.store.read();
    let newest = store::warnings::newest_entries(db, NEWEST).await?;
    let new: Vec<Uuid> = newest
        .iter()
        .filter(|id| !seen.contains(id))
        .copied()
        .collect();
    *seen = newest;
    if new.is_empty() {
        return Ok(());
    }
    let moved = store::warnings::moved_by(db, &new).await?;
    for site in store::sites::list(db, None, SITES_MAX).await? {
        let parts: BTreeSet<i64> = moved
            .iter()
            .filter(|(of, _)| *of == site.id)
            .map(|(_, part)| *part)
            .collect();
        if !parts.is_empty() {
            at_site(context, site, Some(&parts)).await?;
        }
    }
    Ok(())
}
