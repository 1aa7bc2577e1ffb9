//! Counts.

use actix_web::{HttpResponse, get, post, web};
use types::{
    CountBatch, CountOutcome, CountPage, Counted, KeptAside, ListCounts, NewCount, NewCountBatch,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::error::{Answer, problem};
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service::{
    self,
    stocktake::{Became, Outcome},
};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_counts)
        .service(record_count)
        .service(record_count_batch);
}

/// List the counts, newest first.
#[utoipa::path(tag = "counts", security(("key" = ["read"])), params(ListCounts), responses(
    (status = 200, description = "A page", body = CountPage),
    Common,
    Rules,
))]
#[get("/counts")]
async fn list_counts(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListCounts>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::list_counts(&app.context, &query).await?))
}

/// Record a count. On hand becomes what was counted and what moved after it.
#[utoipa::path(tag = "counts", security(("key" = ["log"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewCount, responses(
    (status = 201, description = "Recorded", body = Counted),
    (status = 202, description = "Kept aside: its date is out of bounds", body = KeptAside),
    Body,
    Common,
    Repeat,
))]
#[post("/counts")]
async fn record_count(
    by: Authorized<Log>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewCount>,
) -> Answer {
    Ok(kept(
        service::ledger::record_count(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}

/// Record many counts, such as a sheet. Each is judged alone: what is right goes in, what is wrong comes
/// back with its reason, and a repeat is harmless. Counts of one part in several drawers of a site add up
/// to one count of the part, and all its drawers must be there. With `try` nothing is changed.
#[utoipa::path(tag = "counts", security(("key" = ["log"])), request_body = NewCountBatch, responses(
    (status = 200, description = "One answer a count", body = CountBatch),
    Body,
    Common,
    Rules,
))]
#[post("/counts/batch")]
async fn record_count_batch(
    by: Authorized<Log>,
    app: web::Data<App>,
    new: web::Json<NewCountBatch>,
) -> Answer {
    let only_tried = new.only_try;
    let outcomes =
        service::stocktake::record_batch(&app.context, by.caller, new.into_inner()).await?;
    Ok(HttpResponse::Ok().json(summed(outcomes, only_tried)))
}

/// What the sum of a batch says at its end if nothing was changed.
pub(super) const ONLY_TRIED: &str = " Only tried: nothing has changed.";

fn summed(outcomes: Vec<Outcome>, only_tried: bool) -> CountBatch {
    let mut batch = CountBatch {
        says: String::new(),
        only_tried,
        recorded: 0,
        already_in: 0,
        kept_aside: 0,
        refused: 0,
        rows: Vec::new(),
    };
    for Outcome { id, result } in outcomes {
        let mut outcome = CountOutcome {
            id,
            result: String::new(),
            counted: None,
            kept_aside: None,
            problem: None,
        };
        let (word, number) = match result {
            Ok((Became::Counted(counted), repeated)) => {
                outcome.counted = Some(counted);
                if repeated {
                    ("already in", &mut batch.already_in)
                } else {
                    ("counted", &mut batch.recorded)
                }
            }
            Ok((Became::KeptAside(aside), _)) => {
                outcome.kept_aside = Some(aside);
                ("kept aside", &mut batch.kept_aside)
            }
            Err(error) => {
                outcome.problem = Some(problem(&error));
                ("refused", &mut batch.refused)
            }
        };
        word.clone_into(&mut outcome.result);
        *number += 1;
        batch.rows.push(outcome);
    }
    batch.says = format!(
        "{} rows: {} in, {} already in, {} need you.{}",
        batch.rows.len(),
        batch.recorded,
        batch.already_in,
        batch.refused + batch.kept_aside,
        if only_tried { ONLY_TRIED } else { "" }
    );
    batch
}
