//! Who calls, and what for. The role that an operation needs is the type of its first argument, so
//! that a handler without a check does not compile into a handler with one by accident.

use std::future::{Ready, ready};
use std::marker::PhantomData;

use actix_web::body::MessageBody;
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};
use chrono::SecondsFormat;
use types::Role;

use super::error::Error;
use crate::app::App;
use crate::service::{self, keys::Caller};

/// A role, as a type.
pub trait Needs {
    /// The role.
    const ROLE: Role;
}

macro_rules! role {
    ($(#[doc = $doc:literal])* $name:ident = $role:ident) => {
        $(#[doc = $doc])*
        #[derive(Debug)]
        pub enum $name {}

        impl Needs for $name {
            const ROLE: Role = Role::$role;
        }
    };
}

role!(/// Reading.
    Read = Read);
role!(/// Recording usage and counts.
    Log = Log);
role!(/// Keeping stock, parts, orders and jobs.
    Keep = Keep);
role!(/// Keys and sites.
    Own = Own);

/// A caller whose key covers the role.
#[derive(Debug)]
pub struct Authorized<R> {
    /// Who calls.
    pub caller: Caller,
    role: PhantomData<R>,
}

impl<R: Needs> FromRequest for Authorized<R> {
    type Error = Error;
    type Future = Ready<Result<Self, Error>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let found = request.extensions_mut().remove::<Found>();
        ready(match found {
            Some(Found(caller)) => caller.and_then(Self::with_role),
            None => Err(fault("nobody looked the caller up")),
        })
    }
}

impl<R: Needs> Authorized<R> {
    fn with_role(caller: Caller) -> Result<Self, Error> {
        Ok(Self {
            caller: caller.require(R::ROLE)?,
            role: PhantomData,
        })
    }
}

/// What became of looking the caller up, until a handler asks for it.
struct Found(Result<Caller, Error>);

/// Looks the caller up before a handler reads anything else. What a handler reads, it reads side by
/// side: were the look-up part of that, a fault in the body could be told to someone without a key.
///
/// # Errors
/// None of its own: whether a key is needed is for the handler to say.
pub async fn identify<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    let found = caller(request.request()).await;
    let ends = found.as_ref().ok().and_then(|caller| {
        let app = request.app_data::<web::Data<App>>()?;
        caller.ends_soon(app.context.clock.now())
    });
    let mut request = request;
    without_key(&mut request);
    request.extensions_mut().insert(Found(found));
    let mut response = next.call(request).await?;
    if let Some(ends) = ends
        && let Ok(told) = HeaderValue::from_str(&ends.to_rfc3339_opts(SecondsFormat::Secs, true))
    {
        response.headers_mut().insert(KEY_EXPIRES, told);
    }
    Ok(response)
}

/// Tells a caller when the secret that was sent works no more, from 14 days before.
const KEY_EXPIRES: HeaderName = HeaderName::from_static("tigstock-key-expires");

/// What may be read with a key in the address, since the programs that read it can send no header: the feeds, and
/// all that stands under a folder of the sheets.
const KEY_IN_ADDRESS: [&str; 4] = [
    "/v1/calendar.ics",
    "/v1/warnings.atom",
    "/v1/sheets/",
    "/v1/cell/",
];

/// Whether a request may carry its key in the address.
fn may_carry(request: &HttpRequest) -> bool {
    let is_read = request.method() == Method::GET || request.method() == Method::HEAD;
    let path = request.path();
    is_read
        && KEY_IN_ADDRESS.iter().any(|open| {
            let is_folder = open.ends_with('/');
            path == *open || (is_folder && path.starts_with(open))
        })
}

/// Takes the key out of the address: whatever comes after has no use for it, and cannot tell it to anybody.
fn without_key(request: &mut ServiceRequest) {
    if !may_carry(request.request()) {
        return;
    }
    let rest = request.query_string().split('&');
    let rest: Vec<&str> = rest.filter(|pair| !pair.starts_with("key=")).collect();
    let address = match rest.join("&") {
        none if none.is_empty() => request.path().to_owned(),
        rest => format!("{}?{rest}", request.path()),
    };
    if let Ok(address) = address.parse() {
        request.head_mut().uri = address;
    }
}

async fn caller(request: &HttpRequest) -> Result<Caller, Error> {
    let app = request
        .app_data::<web::Data<App>>()
        .ok_or_else(|| fault("the service has no state"))?;
    if app.config.keyless {
        return Ok(Caller::DEMO);
    }
    let in_header = secret(request);
    let is_in_address = in_header.is_none();
    let secret =
        in_header
            .or_else(|| secret_in_address(request))
            .ok_or(service::Error::Unauthenticated(
                "send a key: Authorization: Bearer tig_...; the owner makes keys",
            ))?;
    let caller = service::keys::authenticate(&app.context, &secret).await?;
    // Addresses are kept in histories and settings of other programs: what may write stays out of them.
    if is_in_address && caller.role != Role::Read {
        return Err(service::Error::Unauthenticated(
            "a key in an address must have the role read; revoke this one, since addresses are kept in \
             many places, and ask the owner for one that only reads",
        )
        .into());
    }
    Ok(caller)
}

/// The key in the address of what may be read that way.
fn secret_in_address(request: &HttpRequest) -> Option<String> {
    #[derive(serde::Deserialize)]
    struct InAddress {
        key: String,
    }
    if !may_carry(request) {
        return None;
    }
    let told = web::Query::<InAddress>::from_query(request.query_string()).ok()?;
    Some(told.into_inner().key.trim().to_owned())
}

fn fault(why: &str) -> Error {
    Error::Service(service::Error::Internal(why.to_owned()))
}

fn secret(request: &HttpRequest) -> Option<String> {
    let value = request
        .headers()
        .get(header::AUTHORIZATION)?
        .to_str()
        .ok()?;
    let (scheme, secret) = value.split_once(' ')?;
    scheme
        .eq_ignore_ascii_case("bearer")
        .then(|| secret.trim().to_owned())
}
