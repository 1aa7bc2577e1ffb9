//! Questions that the ledger asks.

use actix_web::{HttpResponse, get, post, web};
use types::{ListQuestions, NewAnswer, Problem, Question, QuestionPage, QuestionPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, kept};
use super::problems::{Body, Common, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_questions)
        .service(get_question)
        .service(answer_question);
}

/// List what the ledger asks, newest first.
#[utoipa::path(tag = "questions", security(("key" = ["read"])), params(ListQuestions), responses(
    (status = 200, description = "A page", body = QuestionPage),
    Common,
    Rules,
))]
#[get("/questions")]
async fn list_questions(
    _: Authorized<Read>,
    app: web::Data<App>,
    query: web::Query<ListQuestions>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::questions::list(&app.context, &query).await?))
}

/// Get a question, with what changes on each answer.
#[utoipa::path(tag = "questions", security(("key" = ["read"])), params(QuestionPath), responses(
    (status = 200, description = "The question", body = Question),
    Common,
    Missing,
))]
#[get("/questions/{question}")]
async fn get_question(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<QuestionPath>,
) -> Answer {
    Ok(HttpResponse::Ok().json(service::questions::get(&app.context, &path.question).await?))
}

/// Answer a question. What the answer changes is written at once, as new entries of the ledger.
#[utoipa::path(tag = "questions", security(("key" = ["keep"])), params(QuestionPath, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), request_body = NewAnswer, responses(
    (status = 200, description = "Answered", body = Question),
    (status = 409, description = "It was answered before, or answered itself", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Missing,
    Repeat,
))]
#[post("/questions/{question}/answer")]
async fn answer_question(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<QuestionPath>,
    IdempotencyKey(key): IdempotencyKey,
    new: web::Json<NewAnswer>,
) -> Answer {
    let asked = (by.caller, key.as_str());
    let new = new.into_inner();
    Ok(kept(
        service::questions::answer(&app.context, asked, &path.question, new).await?,
    ))
}
