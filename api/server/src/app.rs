//! The running service: its state, and the server around it.

use std::net::TcpListener;
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{Method, header};
use actix_web::middleware::{Compress, DefaultHeaders, Next, from_fn};
use actix_web::{App as Actix, HttpRequest, HttpResponse, HttpServer, web};
use types::ProblemKind;
use utoipa_actix_web::AppExt;
use utoipa_swagger_ui::{Config as ReaderConfig, SwaggerUi};

use crate::config::Config;
use crate::http::{self, Fallback, error::Error};
use crate::service::Context;

/// How long a stop waits for requests under way.
const STOP_SECONDS: u64 = 10;
/// How long a client may take to send the head of a request.
const HEAD_TIMEOUT: Duration = Duration::from_secs(5);

/// The state that handlers see.
#[derive(Clone, Debug)]
pub struct App {
    /// What use cases work with.
    pub context: Context,
    /// The settings.
    pub config: Config,
}

/// Serves on a listener until `stop` is ready, then finishes what it has begun.
///
/// # Errors
/// The listener fails.
pub async fn run(
    app: App,
    listener: TcpListener,
    workers: usize,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let document = http::openapi::document();
    let fallback = web::Data::new(Fallback::new(&document));
    let text = web::Data::new(http::openapi::text());
    let app = web::Data::new(app);
    let timeout = Duration::from_secs(app.config.request_timeout_seconds);
    let server = HttpServer::new(move || {
        let reader = SwaggerUi::new("/docs/{_:.*}").config(
            ReaderConfig::from("/openapi.json")
                .validator_url("none")
                .use_base_layout(),
        );
        let (actix, _) = Actix::new()
            .app_data(app.clone())
            .app_data(fallback.clone())
            .app_data(text.clone())
            .app_data(http::json(app.config.body_limit_bytes))
            .app_data(http::path())
            .app_data(http::query())
            .into_utoipa_app()
            .configure(http::routes)
            .split_for_parts();
        actix
            .route("/openapi.json", web::get().to(contract))
            .route("/docs", web::get().to(to_docs))
            .service(reader)
            .default_service(web::to(nothing_here))
            .wrap(from_fn(http::auth::identify))
            .wrap(from_fn(move |request, next| within(timeout, request, next)))
            .wrap(from_fn(head_as_get))
            .wrap(DefaultHeaders::new().add((header::X_CONTENT_TYPE_OPTIONS, "nosniff")))
            .wrap(Compress::default())
    })
    .workers(workers)
    .client_request_timeout(HEAD_TIMEOUT)
    .shutdown_timeout(STOP_SECONDS)
    .disable_signals()
    .listen(listener)?
    .run();
    let handle = server.handle();
    tokio::spawn(async move {
        stop.await;
        handle.stop(true).await;
    });
    server.await
}

async fn contract(text: web::Data<String>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/json")
        .body(text.get_ref().clone())
}

async fn to_docs() -> HttpResponse {
    HttpResponse::PermanentRedirect()
        .insert_header((header::LOCATION, "/docs/"))
        .finish()
}

async fn nothing_here(request: HttpRequest, fallback: web::Data<Fallback>) -> HttpResponse {
    fallback.answer(&request)
}

/// Gives up on a request that takes too long, so that its connection is free again.
async fn within<B: MessageBody>(
    timeout: Duration,
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    tokio::time::timeout(timeout, next.call(request))
        .await
        .unwrap_or_else(|_| {
            let why = "the request took too long; repeat it with the same idempotency key";
            Err(Error::Request(ProblemKind::Unavailable, why.to_owned()).into())
        })
}

/// The router knows no HEAD: it is a GET whose body the server drops.
async fn head_as_get<B: MessageBody>(
    mut request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    if request.method() == Method::HEAD {
        request.head_mut().method = Method::GET;
    }
    next.call(request).await
}
