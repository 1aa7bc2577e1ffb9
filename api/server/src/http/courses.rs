//! Courses, and what they need.

use actix_web::http::header;
use actix_web::{HttpResponse, delete, get, post, put, web};
use types::{
    Course, CourseNeeds, CoursePage, CoursePath, CourseStations, DraftOrders, DraftedOrders,
    GetNeeds, HtmlPage, NewCourse, Page, Problem, StationCard,
};
use utoipa_actix_web::service_config::ServiceConfig;

use super::auth::{Authorized, Keep, Read};
use super::error::Answer;
use super::extract::{IdempotencyKey, IfMatch, created, kept, tagged};
use super::problems::{Body, Common, Edit, Missing, Repeat, Rules};
use crate::app::App;
use crate::service;
use crate::service::needs::Kind;

mod cards;

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_courses)
        .service(create_course)
        .service(get_course)
        .service(replace_course)
        .service(delete_course)
        .service(get_course_needs)
        .service(draft_course_orders)
        .service(get_course_stations)
        .service(get_course_station_cards);
}

/// List courses.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(Page), responses(
    (status = 200, description = "A page of courses", body = CoursePage),
    Common,
))]
#[get("/courses")]
async fn list_courses(_: Authorized<Read>, app: web::Data<App>, page: web::Query<Page>) -> Answer {
    Ok(HttpResponse::Ok().json(service::courses::list(&app.context, &page).await?))
}

/// Set up a course.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), request_body = NewCourse, responses(
    (status = 201, description = "Set up", body = Course, headers(("ETag" = String), ("Location" = String))),
    (status = 409, description = "The name is taken", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
    Rules,
))]
#[post("/courses")]
async fn create_course(
    _: Authorized<Keep>,
    app: web::Data<App>,
    new: web::Json<NewCourse>,
) -> Answer {
    let made = service::courses::create(&app.context, new.into_inner()).await?;
    Ok(created(
        &format!("/v1/courses/{}", made.code),
        made.version,
        &made,
    ))
}

/// Read a course.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(CoursePath), responses(
    (status = 200, description = "The course", body = Course, headers(("ETag" = String))),
    Common,
    Missing,
))]
#[get("/courses/{course}")]
async fn get_course(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
) -> Answer {
    let found = service::courses::get(&app.context, &path.course).await?;
    Ok(tagged(found.version, &found))
}

/// Replace a course.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), params(CoursePath, ("If-Match" = String, Header, description = "The ETag that was read")), request_body = NewCourse, responses(
    (status = 200, description = "Replaced", body = Course, headers(("ETag" = String))),
    Body,
    Common,
    Edit,
    Missing,
    Rules,
))]
#[put("/courses/{course}")]
async fn replace_course(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
    IfMatch(seen): IfMatch,
    new: web::Json<NewCourse>,
) -> Answer {
    let new = new.into_inner();
    let replaced = service::courses::replace(&app.context, &path.course, seen, new).await?;
    Ok(tagged(replaced.version, &replaced))
}

/// Remove a course. Answers 409 while something refers to it.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), params(CoursePath, ("If-Match" = String, Header, description = "The ETag that was read")), responses(
    (status = 204, description = "Removed"),
    (status = 409, description = "In use", body = Problem, content_type = "application/problem+json"),
    Common,
    Edit,
    Missing,
))]
#[delete("/courses/{course}")]
async fn delete_course(
    _: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
    IfMatch(seen): IfMatch,
) -> Answer {
    service::courses::delete(&app.context, &path.course, seen).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Tell what a course needs: will anybody stop for a part, what to order, what it costs, and how many
/// ground electrodes to lay ready.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(CoursePath, GetNeeds), responses(
    (status = 200, description = "What it needs", body = CourseNeeds),
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Rules,
))]
#[get("/courses/{course}/needs")]
async fn get_course_needs(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
    query: web::Query<GetNeeds>,
) -> Answer {
    let needs = service::needs::get_course(&app.context, &path.course, &query).await?;
    Ok(HttpResponse::Ok().json(needs))
}

/// Draft what a course is short of, one order a supplier. Earlier drafts for the course are cancelled.
#[utoipa::path(tag = "courses", security(("key" = ["keep"])), params(CoursePath, DraftOrders, ("Idempotency-Key" = String, Header, description = "An id of your own, the same for a repeat")), responses(
    (status = 201, description = "Drafted", body = DraftedOrders),
    (status = 409, description = "No part of it counts, or it has started", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
    Repeat,
))]
#[post("/courses/{course}/orders")]
async fn draft_course_orders(
    by: Authorized<Keep>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
    query: web::Query<DraftOrders>,
    IdempotencyKey(key): IdempotencyKey,
) -> Answer {
    let (by, which) = ((by.caller, &*key), (Kind::Course, &*path.course));
    Ok(kept(
        service::orders::draft_for_work(&app.context, by, which, &query).await?,
    ))
}

/// Make the cards of the stations of a course, one to print for each.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(CoursePath), responses(
    (status = 200, description = "The cards", body = CourseStations),
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[get("/courses/{course}/stations")]
async fn get_course_stations(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
) -> Answer {
    let stations = service::needs::get_stations(&app.context, &path.course).await?;
    Ok(HttpResponse::Ok().json(stations))
}

/// Print the cards of the stations of a course: a page for A4 with a card for each, and a QR code that leads
/// to it.
#[utoipa::path(tag = "courses", security(("key" = ["read"])), params(CoursePath), responses(
    (status = 200, description = "The page", body = HtmlPage, content_type = "text/html; charset=utf-8"),
    (status = 409, description = "No part of it counts", body = Problem, content_type = "application/problem+json"),
    Common,
    Missing,
))]
#[get("/courses/{course}/stations.html")]
async fn get_course_station_cards(
    _: Authorized<Read>,
    app: web::Data<App>,
    path: web::Path<CoursePath>,
) -> Answer {
    let told = service::needs::get_stations(&app.context, &path.course).await?;
    let place = |card: &StationCard| {
        let (course, station) = (&told.course, card.station);
        app.config.public_url.as_ref().map_or_else(
            || format!("tigstock:{course}/station-{station}"),
            |url| {
                let url = url.trim_end_matches('/');
                format!("{url}/v1/courses/{course}/stations.html#station-{station}")
            },
        )
    };
    Ok(HttpResponse::Ok()
        .content_type("text/html; charset=utf-8")
        // It has nothing to fetch and nothing to run.
        .insert_header((
            header::CONTENT_SECURITY_POLICY,
            "default-src 'none'; style-src 'unsafe-inline'",
        ))
        .body(cards::page(&told, place).into_string()))
}
