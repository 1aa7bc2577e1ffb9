//! Who calls, and what for. The role that an operation needs is the type of its first argument, so
//! that a handler without a check does not compile into a handler with one by accident.

use std::future::Future;
use std::marker::PhantomData;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, web};
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

impl<R: Needs + 'static> FromRequest for Authorized<R> {
    type Error = Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Error>>>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let app = request.app_data::<web::Data<App>>().cloned();
        let secret = secret(request);
        Box::pin(async move {
            let app = app.ok_or_else(|| {
                Error::Service(service::Error::Internal(
                    "the service has no state".to_owned(),
                ))
            })?;
            let caller = if app.config.keyless {
                Caller::DEMO
            } else {
                let secret = secret.ok_or(service::Error::Unauthenticated(
                    "send a key: Authorization: Bearer tig_...; the owner makes keys",
                ))?;
                service::keys::authenticate(&app.context, &secret).await?
            };
            Ok(Self {
                caller: caller.require(R::ROLE)?,
                role: PhantomData,
            })
        })
    }
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
