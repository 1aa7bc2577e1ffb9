//! The short run of the crash test. The long one is `cargo run --release --bin crash`.

use tigstock_tests::crash::{self, disk};

const KILLS: u32 = 50;
const SEED: u64 = 20_261_125;

/// Progress is for who runs the long one; what is skipped is told here too.
fn say(line: &str) {
    if line.starts_with("SKIPPED") {
        let mut out = std::io::stdout();
        let _ = std::io::Write::write_all(&mut out, format!("{line}\n").as_bytes());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_acknowledged_outlives_a_kill_at_any_moment_and_is_there_once() {
    let outcome = crash::run(KILLS, SEED, say).await;
    assert!(outcome.acknowledged > 0, "{outcome}");
    assert_eq!((outcome.lost, outcome.doubled), (0, 0), "{outcome}");
    assert_eq!(outcome.kills, KILLS);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_full_disk_is_told_and_loses_nothing_and_room_is_found_without_a_new_start() {
    disk::without_room(SEED, say).await;
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_may_only_be_read_is_told_at_the_start_and_not_changed() {
    disk::read_only(say).await;
}
