//! Written procedures and their revisions.

use actix_web::http::header;
use actix_web::{HttpResponse, get, post, web};
use types::{
    NewProcedure, NewRevision, Page, Problem, Procedure, ProcedurePage, ProcedurePath, Revision,
    RevisionPage, RevisionPath,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Own, Read};
use super::error::Answer;
use super::problems::{Body, Common, Missing, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_procedures)
        .service(create_procedure)
        .service(get_procedure)
        .service(list_revisions)
        .service(create_revision)
        .service(get_revision);
}

/// List procedures, each with its newest revision.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of procedures", body = ProcedurePage),
    Common,
))]
#[get("/procedures")]
async fn list_procedures(
    _: Authorized<Read>,
    app: web::Data<App>,
    page: web::Query<Page>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::procedures::list(&app.context, &page).await?))
}

/// Enter a procedure with the revision that is in force.
#[utoipa::path(tag = "procedures", security(("key" = ["own"])), request_body = NewProcedure, responses(
    (status = 201, description = "Entered", body = Procedure, headers(("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/procedures")]
async fn create_procedure(
    _: Authorized<Own>,
    app: web::Data<App>,
    new: web::Json<NewProcedure>,
) -> Answer {
    let made = service::procedures::create(&app.context, new.into_inner()).await?;
    let place = format!("/v1/procedures/{}", made.code);
    Ok(HttpResponse::Created()
        .insert_header((header::LOCATION, place))
        .json(made))
}

/// Read a procedure with its newest revision.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(ProcedurePath), responses(
    (status = 200, description = "The procedure", body = Procedure),
    Common,
    Missing,
))]
#[get("/procedures/{procedure}")]
async fn get_procedure(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<ProcedurePath>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::procedures::get(&app.context, &path.procedure).await?))
}

/// List the revisions of a procedure, oldest first.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(ProcedurePath, Page), responses(
    (status = 200, description = "A page of revisions", body = RevisionPage),
    Common,
    Missing,
    Rules,
))]
#[get("/procedures/{procedure}/revisions")]
async fn list_revisions(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<ProcedurePath>,
    page: web::Query<Page>,
) -> Answer {
    let found = service::procedures::list_revisions(&app.context, &path.procedure, &page).await?;
    Ok(HttpResponse::Ok().json(found))
}

/// Enter a new revision of a procedure. No revision is ever changed, and no signature is taken over.
#[utoipa::path(tag = "procedures", security(("key" = ["own"])), params(ProcedurePath), request_body = NewRevision, responses(
    (status = 201, description = "Entered", body = Revision, headers(("Location" = String))),
    Body,
    Common,
    Missing,
    Rules,
))]
#[post("/procedures/{procedure}/revisions")]
async fn create_revision(
    _: Authorized<Own>,
    app: web::Data<App>,
    path: web::Path<ProcedurePath>,
    new: web::Json<NewRevision>,
) -> Answer {
    let new = new.into_inner();
    let made = service::procedures::revise(&app.context, &path.procedure, new).await?;
    let place = format!(
        "/v1/procedures/{}/revisions/{}",
        made.procedure, made.revision
    );
    Ok(HttpResponse::Created()
        .insert_header((header::LOCATION, place))
        .json(made))
}

/// Read a revision of a procedure.
#[utoipa::path(tag = "procedures", security(("key" = ["read"])), params(RevisionPath), responses(
    (status = 200, description = "The revision", body = Revision),
    Common,
    Missing,
))]
#[get("/procedures/{procedure}/revisions/{revision}")]
async fn get_revision(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<RevisionPath>,
) -> Answer {
    let RevisionPath {
        procedure,
        revision,
    } = path.into_inner();
    let found = service::procedures::get_revision(&app.context, &procedure, &revision).await?;
    Ok(HttpResponse::Ok().json(found))
}
