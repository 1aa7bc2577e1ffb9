//! Usage: one entry, or many.

use actix_web::{HttpResponse, get, post, web};
use types::{
    KeptAside, ListUsage, NewUsage, NewUsageBatch, Recorded, SumUsage, UsageBatch, UsageOutcome,
    UsagePage, UsageSums,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Log, Read};
use super::counts::ONLY_TRIED;
use super::error::{Answer, problem};
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Repeat, Rules};
use crate::app::App;
use crate::service::{
    self,
    ledger::{Became, Outcome},
};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_usage)
        .service(record_usage)
        .service(record_usage_batch)
        .service(sum_usage);
}

/// List logged use, newest first.
#[utoipa::path(tag = "usage", security(("key" = ["read"])), params(ListUsage), responses(
    (status = 200, description = "A page", body = UsagePage),
    Common,
    Rules,
))]
#[get("/usage")]
async fn list_usage(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListUsage>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::list_usage(&app.context, &query).await?))
}

/// Record use at the bench.
#[utoipa::path(tag = "usage", security(("key" = ["log"])), params(("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewUsage, responses(
    (status = 201, description = "Recorded", body = Recorded),
    (status = 202, description = "Kept aside: its date is out of bounds", body = KeptAside),
    Body,
    Common,
    Repeat,
))]
#[post("/usage")]
async fn record_usage(
    by: Authorized<Log>,
    app: web::Data<App>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewUsage>,
) -> Answer {
    Ok(kept(
        service::ledger::record_usage(&app.context, by.caller, &key, new.into_inner()).await?,
    ))
}

/// Record many entries of use. Each is judged alone: what is right goes in, what is wrong comes back
/// with its reason, and a repeat is harmless. With `try` nothing is changed.
#[utoipa::path(tag = "usage", security(("key" = ["log"])), request_body = NewUsageBatch, responses(
    (status = 200, description = "One answer an entry", body = UsageBatch),
    Body,
    Common,
    Rules,
))]
#[post("/usage/batch")]
async fn record_usage_batch(
    by: Authorized<Log>,
    app: web::Data<App>,
    new: web::Json<NewUsageBatch>,
) -> Answer {
    let only_tried = new.only_try;
    let outcomes = service::ledger::record_batch(&app.context, by.caller, new.into_inner()).await?;
    Ok(HttpResponse::Ok().json(summed(outcomes, only_tried)))
}

/// Add up what was used, by the days or months of the site's own zone.
#[utoipa::path(tag = "usage", security(("key" = ["read"])), params(SumUsage), responses(
    (status = 200, description = "The sums", body = UsageSums),
    Common,
    Rules,
))]
#[get("/usage/sums")]
async fn sum_usage(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<SumUsage>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::ledger::sum_usage(&app.context, &query).await?))
}

fn summed(outcomes: Vec<Outcome>, only_tried: bool) -> UsageBatch {
    let mut batch = UsageBatch {
        says: String::new(),
        only_tried,
        recorded: 0,
        already_in: 0,
        kept_aside: 0,
        refused: 0,
        entries: Vec::new(),
    };
    for Outcome { id, result } in outcomes {
        let mut outcome = UsageOutcome {
            id,
            result: String::new(),
            recorded: None,
            kept_aside: None,
            problem: None,
        };
        let (word, count) = match result {
            Ok((Became::Recorded(recorded), repeated)) => {
                outcome.recorded = Some(recorded);
                if repeated {
                    ("already in", &mut batch.already_in)
                } else {
                    ("recorded", &mut batch.recorded)
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
        *count += 1;
        batch.entries.push(outcome);
    }
    batch.says = format!(
        "{} entries: {} in, {} already in, {} need you.{}",
        batch.entries.len(),
        batch.recorded,
        batch.already_in,
        batch.refused + batch.kept_aside,
        if only_tried { ONLY_TRIED } else { "" }
    );
    batch
}
