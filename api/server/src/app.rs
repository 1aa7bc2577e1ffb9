//! The running service: its state, and the server around it.

use std::net::TcpListener;
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{Method, header};
use actix_web::middleware::{Compress, DefaultHeaders, Next, from_fn};
use actix_web::{App as Actix, HttpRequest, HttpResponse, HttpServer, web};
use tokio::sync::watch;
use types::ProblemKind;
use utoipa_actix_web::AppExt;
use utoipa_swagger_ui::{Config as ReaderConfig, SwaggerUi};

use crate::channels::{self, Channels};
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
    /// What sends events.
    pub channels: Channels,
}

impl App {
    /// The state of a service with these settings.
    ///
    /// # Errors
    /// A setting that cannot be used, named.
    pub fn new(context: Context, config: Config) -> Result<Self, String> {
        let channels = Channels::new(&config)?;
        Ok(Self {
            context,
            config,
            channels,
        })
    }
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
    let (stop_all, stopping) = watch::channel(false);
    let sending = app.config.deliver.then(|| {
        let (context, channels) = (app.context.clone(), app.channels.clone());
        tokio::spawn(channels::run(context, channels, stopping.clone()))
    });
    let app = web::Data::new(app);
    let stopping = web::Data::new(stopping);
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
            .app_data(stopping.clone())
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
            .configure(http::pages::routes)
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
        // Who follows events would keep a connection for ever: they are told first.
        let _ = stop_all.send(true);
        handle.stop(true).await;
    });
    let ended = server.await;
    if let Some(sending) = sending {
        sending.abort();
    }
    ended
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
