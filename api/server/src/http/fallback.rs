//! What no operation answers: 404, or 405 where the address exists under another method. Both are
//! told as problems, since the router's own answers are empty.

use actix_web::dev::ResourceDef;
use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use types::ProblemKind;
use utoipa::openapi::OpenApi;
use utoipa::openapi::path::PathItem;

use super::error::Error;

/// The addresses of the contract, with the methods of each.
#[derive(Clone)]
pub struct Fallback {
    addresses: Vec<(ResourceDef, String)>,
}

impl std::fmt::Debug for Fallback {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Fallback({} addresses)", self.addresses.len())
    }
}

impl Fallback {
    /// Reads the addresses from the contract.
    pub fn new(document: &OpenApi) -> Self {
        let addresses = document.paths.paths.iter();
        let addresses =
            addresses.map(|(path, item)| (ResourceDef::new(path.as_str()), methods(item)));
        Self {
            addresses: addresses.collect(),
        }
    }

    /// The answer to a request that no operation took.
    pub fn answer(&self, request: &HttpRequest) -> HttpResponse {
        let (path, method) = (request.path(), request.method());
        let Some((_, allowed)) = self
            .addresses
            .iter()
            .find(|(address, _)| address.is_match(path))
        else {
            let detail = format!("there is nothing at {path}; see /docs for what there is");
            return Error::Request(ProblemKind::NotFound, detail).error_response();
        };
        let detail = format!("{method} is not allowed at {path}; it takes {allowed}");
        let mut response = Error::Request(ProblemKind::MethodNotAllowed, detail).error_response();
        if let Ok(allowed) = header::HeaderValue::from_str(allowed) {
            response.headers_mut().insert(header::ALLOW, allowed);
        }
        response
    }
}

fn methods(item: &PathItem) -> String {
    let methods = [
        ("GET", &item.get),
        ("HEAD", &item.get),
        ("POST", &item.post),
        ("PUT", &item.put),
        ("PATCH", &item.patch),
        ("DELETE", &item.delete),
    ];
    let there = methods.iter().filter(|(_, operation)| operation.is_some());
    there
        .map(|(method, _)| *method)
        .collect::<Vec<_>>()
        .join(", ")
}
