//! What the weekly digest says of warnings: those that the weekly limit held back, those that closed, and
//! whether higher limits are proposed. What else is in a digest, and sending it, is elsewhere.

use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;

use super::{keep_message, self_check, view};
use crate::service::Error;
use crate::store;
use crate::store::entity::sites;

/// What is kept of a warning that was told in the digest.
const IN_DIGEST: &str = "digest";

/// The lines of a digest about warnings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OfWarnings {
    /// What found no room in the week, each as it would have been told.
    pub waiting: Vec<String>,
    /// What closed since the digest before.
    pub closed: Vec<String>,
    /// That higher limits are proposed, where few warnings were acted on.
    pub proposal: Option<String>,
}

/// What a digest says of the warnings of a site, of the time after `since`. What waited counts as told with
/// it, so it is in one digest, and is no message later.
///
/// # Errors
/// A failure of the store.
pub async fn of_warnings(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    (since, now): (DateTime<Utc>, DateTime<Utc>),
) -> Result<OfWarnings, Error> {
    let mut of = OfWarnings::default();
    for mut row in store::warnings::open_at(db, site.id).await? {
        if row.held_back_at.is_none() || row.told_at.is_some() {
            continue;
        }
        row.told_at = Some(now.timestamp_micros());
        row.told_chance = view::figures(&row).map(|figures| figures.chance);
        row.digested_at = Some(now.timestamp_micros());
        row.held_back_at = None;
        store::warnings::update(db, &row).await?;
        keep_message(db, row.id, (IN_DIGEST, now), row.says.clone()).await?;
        of.waiting.push(row.says);
    }
    for row in store::warnings::closed_since(db, site.id, since.timestamp_micros()).await? {
        let available = view::figures(&row)
            .map_or_else(String::new, |it| format!(", {} available", it.available));
        of.closed
            .push(format!("{}: closed{available}.", row.subject));
    }
    let check = self_check::of_site(db, site, now).await?;
    of.proposal = check.propose_raising.then_some(check.says);
    Ok(of)
}
