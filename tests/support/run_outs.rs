//! Shops whose electrode ran out, each for one reason that is known. All figures are invented.

use types::NewAnswer;

use crate::fortnight::ELECTRODE;
use crate::{TestServer, builders};

/// Tuesdays from 5 May 2026 on.
const TUESDAYS: [&str; 12] = [
    "2026-05-05",
    "2026-05-12",
    "2026-05-19",
    "2026-05-26",
    "2026-06-02",
    "2026-06-09",
    "2026-06-16",
    "2026-06-23",
    "2026-06-30",
    "2026-07-07",
    "2026-07-14",
    "2026-07-21",
];

/// A shop in Halifax with 12 electrodes on 4 May 2026, which Quayhead delivers on the next open day; each of
/// the first so many Tuesdays six arc hours and one electrode.
pub async fn weekly(tuesdays: usize) -> TestServer {
    let server = TestServer::at("2026-05-04T10:00:00-03:00").await;
    server.zone("America/Halifax").await;
    let electrode = builders::electrode(ELECTRODE, "2.4 mm");
    // What is assumed is what happens: one in six arc hours.
    let electrode = builders::assuming(electrode, "arc-hour", 10.0, 60.0);
    server.stocked(electrode, 12).await;
    server.torch("T1", &[ELECTRODE]).await;
    server.sells("Quayhead", 1, &[ELECTRODE]).await;
    for day in &TUESDAYS[..tuesdays] {
        server.on(day);
        server.worked(360, ELECTRODE, 1).await;
    }
    server
}

impl TestServer {
    /// The usual Tuesdays after the first `done`, up to the twelfth.
    pub async fn further(&self, done: usize) {
        for day in &TUESDAYS[done..] {
            self.on(day);
            self.worked(360, ELECTRODE, 1).await;
        }
    }

    /// Answers the question of that number.
    pub async fn answered(&self, number: i64, answer: &str) {
        let new = NewAnswer {
            answer: answer.to_owned(),
            counted: None,
            lot: None,
            why: None,
            by: None,
        };
        let key = format!("answer-{number}");
        let done = self.owner.answer_question(number, &new, &key).await;
        done.expect("it is answered");
    }
}

/// Six Tuesdays leave six by the book; a count on 12 June finds none, and they are booked as used.
pub async fn unlogged() -> TestServer {
    let server = weekly(6).await;
    server.on("2026-06-12");
    server.counted(ELECTRODE, 0).await;
    server
}

/// Ten are ordered on 30 June, when three are left, and are due on 1 July; they come on 24 July, three days
/// after the last one was taken.
pub async fn late() -> TestServer {
    let server = weekly(9).await;
    let order = server.placed("Quayhead", ELECTRODE, 1).await;
    server.further(9).await;
    server.on("2026-07-24");
    server.arrived(order.number).await;
    server
}

/// Eight are left, and all of them are taken on one day.
pub async fn rush() -> TestServer {
    let server = weekly(4).await;
    server.on("2026-06-02");
    server.worked(600, ELECTRODE, 8).await;
    server
}

/// Three are left on 30 June, and nobody orders.
pub async fn forgotten() -> TestServer {
    let server = weekly(12).await;
    server.on("2026-07-22");
    server
}

/// Ten are ordered on 30 June and are due on 1 July; on 2 July the last three are taken at once.
pub async fn mixed() -> TestServer {
    let server = weekly(9).await;
    server.placed("Quayhead", ELECTRODE, 1).await;
    server.on("2026-07-02");
    server.worked(360, ELECTRODE, 3).await;
    server.on("2026-07-03");
    server
}
