//! The shop of scenario S5 in a test server, with three years of history.

use server::demo;
use types::{GetNeeds, Needs};

use crate::{TestServer, instant};

/// Monday of the week before the job starts.
pub const MONDAY: &str = "2026-06-15T08:00:00-03:00";

/// The drawers are counted a minute before: what happens at the instant of a count is in the count.
const COUNTED: &str = "2026-06-15T07:59:00-03:00";

/// A server whose clock stands on that Monday, with the shop and its history.
pub async fn furnished() -> TestServer {
    let server = TestServer::at(COUNTED).await;
    demo::furnish(&server.owner, instant(COUNTED), |_, _| {})
        .await
        .expect("the shop is set up");
    server.set_clock(MONDAY);
    server
}

/// What the job of the shop needs now.
pub async fn needs(server: &TestServer) -> Needs {
    server
        .owner
        .get_job_needs(demo::JOB, &GetNeeds::default())
        .await
        .expect("the needs")
}
