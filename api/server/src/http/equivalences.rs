//! Equivalences that are signed for a revision of a procedure.

use actix_web::{HttpResponse, get, post, web};
use types::{
    Equivalence, EquivalencePage, EquivalencePath, NewEquivalence, NewWithdrawal, Page, Problem,
    RevisionPath,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own, Read};
use super::error::Answer;
use super::problems::{Body, Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_equivalences)
        .service(sign_equivalence)
        .service(withdraw_equivalence);
}

/// List what was signed for a revision, withdrawn or not, first entered first.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(RevisionPath, Page), responses(
    (status = 200, description = "A page of equivalences", body = EquivalencePage),
    Common,
    Missing,
    Rules,
))]
#[get("/procedures/{procedure}/revisions/{revision}/equivalences")]
async fn list_equivalences(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<RevisionPath>,
    page: web::Query<Page>,
) -> Answer {
    let of = (&*path.procedure, &*path.revision);
    Ok(HttpResponse::Ok().json(service::equivalences::list(&app.context, of, &page).await?))
}

/// Sign for a revision that a marking as printed is a named thing which the revision permits.
#[utoipa::path(tag = "procedures", security(("key" = ["own"])), params(RevisionPath), request_body = NewEquivalence, responses(
    (status = 201, description = "Signed", body = Equivalence),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/procedures/{procedure}/revisions/{revision}/equivalences")]
async fn sign_equivalence(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<RevisionPath>,
    new: web::Json<NewEquivalence>,
) -> Answer {
    let of = (&*path.procedure, &*path.revision);
    let signed = service::equivalences::sign(&app.context, of, new.into_inner()).await?;
    Ok(HttpResponse::Created().json(signed))
}

/// Withdraw a signature. It stays readable, and holds no more from now on.
#[utoipa::path(tag = "procedures", security(("key" = ["own"])), params(EquivalencePath), request_body = NewWithdrawal, responses(
    (status = 201, description = "Withdrawn", body = Equivalence),
    (status = 409, description = "It was withdrawn before", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/procedures/{procedure}/revisions/{revision}/equivalences/{equivalence}/withdrawal")]
async fn withdraw_equivalence(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<EquivalencePath>,
    new: web::Json<NewWithdrawal>,
) -> Answer {
    let (path, new) = (path.into_inner(), new.into_inner());
    let gone = service::equivalences::withdraw(&app.context, path, new).await?;
    Ok(HttpResponse::Created().json(gone))
}
