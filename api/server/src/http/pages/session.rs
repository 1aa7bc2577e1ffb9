//! Who reads a page. The key lies in a cookie that scripts cannot read and other sites cannot send; it is the
//! key itself, so revoking that ends every session of it.

use std::marker::PhantomData;
use std::pin::Pin;

use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::dev::Payload;
use actix_web::http::Method;
use actix_web::{FromRequest, HttpRequest, web};

use super::frame::Ways;
use super::origin;
use super::refused::Refused;
use crate::app::App;
use crate::http::auth::Needs;
use crate::service::Error;
use crate::service::keys::{self, Caller};

/// The name of the cookie.
const NAME: &str = "tigstock-key";
/// How long a browser keeps it.
const KEPT: Duration = Duration::days(30);

/// Who reads a page or sends a form, with a key whose role covers it.
#[derive(Debug)]
pub(super) struct Visitor<R> {
    /// Who it is.
    pub(super) caller: Caller,
    role: PhantomData<R>,
}

impl<R> Visitor<R> {
    /// The way to the other pages from this one.
    pub(super) fn ways<'w>(&self, here: &'w str, site: Option<&'w str>) -> Ways<'w> {
        Ways {
            here,
            site,
            can_leave: self.caller != Caller::DEMO,
        }
    }
}

impl<R: Needs> FromRequest for Visitor<R> {
    type Error = Refused;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Refused>>>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move {
            if request.method() != Method::GET {
                origin::check(&request)?;
            }
            let caller = caller(&request).await?.require(R::ROLE)?;
            Ok(Self {
                caller,
                role: PhantomData,
            })
        })
    }
}

async fn caller(request: &HttpRequest) -> Result<Caller, Refused> {
    let app = request.app_data::<web::Data<App>>();
    let app = app.ok_or_else(|| Error::Internal("the service has no state".to_owned()))?;
    if app.config.keyless {
        return Ok(Caller::DEMO);
    }
    // A form that is sent without a session is gone: what comes after signing in is the first page.
    let to = || match *request.method() {
        Method::GET => Refused::SignIn(request.path().to_owned()),
        _ => Refused::SignIn("/".to_owned()),
    };
    let cookie = request.cookie(NAME).ok_or_else(to)?;
    match keys::authenticate(&app.context, cookie.value()).await {
        Ok(caller) => Ok(caller),
        Err(Error::Unauthenticated(_)) => Err(to()),
        Err(error) => Err(error.into()),
    }
}

/// The cookie of a session; `is_private` where the page came over TLS.
pub(super) fn begin(secret: &str, is_private: bool) -> Cookie<'static> {
    cookie(secret.to_owned(), is_private, KEPT)
}

/// The cookie that ends a session.
pub(super) fn end(is_private: bool) -> Cookie<'static> {
    cookie(String::new(), is_private, Duration::ZERO)
}

fn cookie(value: String, is_private: bool, kept: Duration) -> Cookie<'static> {
    Cookie::build(NAME, value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(is_private)
        .max_age(kept)
        .finish()
}
