//! The baseline of reading: the same server and the same layers in the same order, and a handler
//! that answers an empty JSON object.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{Method, header};
use actix_web::middleware::{Compress, DefaultHeaders, Next, from_fn};
use actix_web::{App, HttpResponse, HttpServer, error, web};
use serde_json::json;
use tokio::runtime::Runtime;

/// A server that runs until it is dropped.
#[derive(Debug)]
pub(crate) struct Plain {
    /// Where it listens.
    pub(crate) address: SocketAddr,
    _runtime: Runtime,
}

impl Plain {
    /// Starts it.
    pub(crate) fn start() -> Result<Self, String> {
        let runtime = Runtime::new().map_err(|error| error.to_string())?;
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)));
        let listener = listener.map_err(|error| error.to_string())?;
        let address = listener.local_addr().map_err(|error| error.to_string())?;
        let workers = std::thread::available_parallelism().map_or(1, Into::into);
        let serve = async move {
            let server = HttpServer::new(|| {
                App::new()
                    .route("/v1/stock/{part}", web::get().to(nothing))
                    .wrap(from_fn(within))
                    .wrap(from_fn(head_as_get))
                    .wrap(DefaultHeaders::new().add((header::X_CONTENT_TYPE_OPTIONS, "nosniff")))
                    .wrap(Compress::default())
            });
            let server = server.workers(workers).disable_signals().listen(listener)?;
            server.run().await
        };
        runtime.spawn(serve);
        Ok(Self {
            address,
            _runtime: runtime,
        })
    }
}

async fn nothing() -> HttpResponse {
    HttpResponse::Ok().json(json!({}))
}

async fn within<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    tokio::time::timeout(Duration::from_secs(30), next.call(request))
        .await
        .unwrap_or_else(|_| Err(error::ErrorServiceUnavailable("too long")))
}

async fn head_as_get<B: MessageBody>(
    mut request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    if request.method() == Method::HEAD {
        request.head_mut().method = Method::GET;
    }
    next.call(request).await
}
