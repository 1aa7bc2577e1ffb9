//! Reading one stock figure, against a handler on the same server that reads nothing: the answer of
//! `/healthz`, JSON too, behind the same middleware.

use std::sync::Arc;

use tigstock_tests::TestServer;
use types::Role;

use crate::load::{self, Maker};
use crate::{Pair, ROUNDS, report, writes};

const CONNECTIONS: usize = 32;
const EACH: usize = 300;

pub(crate) async fn measure() {
    let server = writes::shop().await;
    let mut pairs = Vec::new();
    for _ in 0..ROUNDS {
        let empty = get(&server, "/healthz");
        let baseline = load::per_second(&server.url, CONNECTIONS, EACH, empty).await;
        let stock = get(&server, "/v1/stock/rod");
        let subject = load::per_second(&server.url, CONNECTIONS, EACH, stock).await;
        pairs.push(Pair { baseline, subject });
    }
    report("stock_reads", 0.5, "reads a second", &pairs);
    server.stop().await;
}

fn get(server: &TestServer, path: &str) -> Maker {
    let key = server.key(Role::Read);
    let request =
        format!("GET {path} HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {key}\r\n\r\n");
    Arc::new(move |_, _| request.clone())
}
