//! Committed posts of use in a second, over commits of the bare database in a second: what group
//! commit gains must outweigh what HTTP, keys, idempotency, stock and wear cost.

use crate::commits::Bare;
use crate::compare;
use crate::load::{self, Asked, Load};
use crate::service::{Service, TORCH};

/// The ratio at so many connections.
pub(crate) fn ratio(connections: usize) -> Result<f64, String> {
    let bare = Bare::open()?;
    let service = Service::start()?;
    let name = format!("usage posts at {connections}");
    let posts = |round| {
        load::run(&Load {
            address: service.address,
            secret: service.secret.clone(),
            connections,
            round,
            expected: 201,
            asking: post,
        })
    };
    compare(&name, |_| bare.commits(), posts)
}

/// Half of the entries took a part, half are arc time alone.
fn post(asked: &Asked) -> String {
    let Asked {
        round,
        connection,
        number,
        secret,
    } = asked;
    let body = if number % 2 == 0 {
        format!(r#"{{"torch":"{TORCH}","what":"took","arc_minutes":5,"by":"helper"}}"#)
    } else {
        format!(r#"{{"torch":"{TORCH}","arc_minutes":5,"grinds":1,"by":"helper"}}"#)
    };
    format!(
        "POST /v1/usage HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {secret}\r\n\
         Idempotency-Key: {round}-{connection}-{number}\r\nContent-Type: application/json\r\n\
         Content-Length: {}\r\n\r\n{body}",
        body.len()
    )
}
