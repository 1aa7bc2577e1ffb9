//! Whether warnings are any use: how many of those that were told were acted on.

use chrono::{DateTime, TimeDelta, Utc};
use domain::ledger::MovementKind;
use domain::warning::WarningKind;
use sea_orm::ConnectionTrait;
use types::{GetWarningSelfCheck, WarningSelfCheck};

use super::acted::ACTED;
use crate::service::{Context, Error, codes};
use crate::store;
use crate::store::entity::{sites, warnings};
use crate::store::work::Of;

/// The weeks that it is over (product rule).
const WEEKS: i64 = 8;
/// Below this share, higher limits are proposed (product rule).
const ENOUGH: f64 = 0.5;
/// With fewer warnings than this, nothing is proposed: it would be a guess (invented).
const TOLD_MIN: i64 = 4;

/// How many of the warnings of the last weeks were acted on.
pub async fn get(
    context: &Context,
    query: &GetWarningSelfCheck,
) -> Result<WarningSelfCheck, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    of_site(db, &site, context.clock.now()).await
}

/// The same of a site at an instant.
pub async fn of_site(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    now: DateTime<Utc>,
) -> Result<WarningSelfCheck, Error> {
    let since = (now - TimeDelta::weeks(WEEKS)).timestamp_micros();
    let mut rows = store::warnings::told_since(db, site.id, since).await?;
    rows.retain(|row| WarningKind::parse(&row.kind).is_ok_and(|kind| !kind.is_safety()));
    let (mut told, mut acted_on) = (0, 0);
    for row in &rows {
        told += 1;
        acted_on += i64::from(is_acted_on(db, row, now).await?);
    }
    #[expect(clippy::cast_precision_loss, reason = "numbers of warnings in weeks")]
    let share = (told > 0).then(|| acted_on as f64 / told as f64);
    let propose_raising = told >= TOLD_MIN && share.is_some_and(|share| share < ENOUGH);
    let mut says = match told {
        0 => format!("No warning was told in {WEEKS} weeks."),
        _ => format!("{acted_on} of {told} warnings of {WEEKS} weeks were acted on."),
    };
    if propose_raising {
        says.push_str(
            " That is fewer than half. Next: raise the limits of what you do not act on, or switch those \
             watches off.",
        );
    }
    Ok(WarningSelfCheck {
        site: site.code.clone(),
        weeks: WEEKS,
        told,
        acted_on,
        share,
        propose_raising,
        says,
    })
}

/// Whether anything was done about a warning while it stood: its part received, counted or ordered; something
/// ordered for its job or course, or that moved, made smaller or closed; parts fitted on its torch.
async fn is_acted_on(
    db: &impl ConnectionTrait,
    row: &warnings::Model,
    now: DateTime<Utc>,
) -> Result<bool, Error> {
    let from = row.told_at.unwrap_or(row.opened_at);
    let to = row.closed_at.unwrap_or_else(|| now.timestamp_micros());
    if let Some(part) = row.part_id {
        let place = (part, row.site_id);
        let kind = MovementKind::Receipt.as_str();
        return Ok(
            store::warnings::moved_between(db, place, (from, to), kind).await?
                || store::warnings::counted_between(db, place, (from, to)).await?
                || store::warnings::ordered_between(db, place, (from, to)).await?,
        );
    }
    if row.kind == WarningKind::TorchWear.as_str() {
        let torch = store::torches::find(db, &row.subject).await?;
        let set_ups = store::torches::set_ups(db, torch.map(|torch| torch.id)).await?;
        return Ok(set_ups.iter().any(|it| (from..=to).contains(&it.fitted_at)));
    }
    let of = row.job_id.map(Of::Job).or(row.course_id.map(Of::Course));
    let Some(of) = of else {
        return Ok(false);
    };
    Ok(
        store::warnings::ordered_for_between(db, of, (from, to)).await?
            || store::warnings::has_message(db, row.id, ACTED).await?,
    )
}
