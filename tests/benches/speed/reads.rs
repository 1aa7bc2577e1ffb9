//! Reads of the stock of one part in a second, over answers of a handler that does nothing, behind
//! the same server.

use crate::compare;
use crate::load::{self, Asked, Load};
use crate::plain::Plain;
use crate::service::{PART, Service};

/// How many connections read.
const CONNECTIONS: usize = 32;

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let plain = Plain::start()?;
    let service = Service::start()?;
    let load = |address, round| {
        load::run(&Load {
            address,
            secret: service.secret.clone(),
            connections: CONNECTIONS,
            round,
            expected: 200,
            asking: get,
        })
    };
    compare(
        "stock reads",
        |round| load(plain.address, round),
        |round| load(service.address, round),
    )
}

fn get(asked: &Asked) -> String {
    let secret = &asked.secret;
    format!(
        "GET /v1/stock/{PART} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {secret}\r\n\r\n"
    )
}
