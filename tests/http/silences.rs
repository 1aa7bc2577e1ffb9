//! Parts of which nothing can be said: no use is on record for long though their torch ran. The chances are those
//! of a negative binomial, worked out by hand.

use tigstock_tests::TestServer;
use tigstock_tests::silent::LENS;
use types::{ListWarnings, NewCount, NewWatch, Warning};

const SAYS: &str = "Cannot say for gas-lens-2.4: no use recorded for 41 days though T1 ran. Next: count \
                    drawer 9.";

async fn cannot_tell(server: &TestServer, part: Option<&str>) -> Vec<String> {
    let query = ListWarnings {
        part: part.map(str::to_owned),
        ..ListWarnings::default()
    };
    let page = server.owner.list_warnings(&query).await;
    page.expect("warnings").cannot_tell
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_of_which_no_use_is_logged_while_its_torch_runs_is_to_be_counted() {
    // 40 days of 90 minutes are 60 hours at Gamma(11, 110): (110 / 170)^11 = 0.0083, which is under 1 %.
    let server = TestServer::silent_shop(90).await;
    assert_eq!(cannot_tell(&server, None).await, [SAYS]);
    assert_eq!(cannot_tell(&server, Some(LENS)).await, [SAYS]);
    assert!(server.looks().await.cannot_tell.contains(&SAYS.to_owned()));
    // A count says how it is, whatever was logged.
    let count = NewCount {
        part: LENS.to_owned(),
        counted: 20,
        ..NewCount::default()
    };
    let counted = server.owner.record_count(&count, "counted").await;
    counted.expect("a count");
    assert_eq!(cannot_tell(&server, None).await, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_silence_that_chance_explains_is_none() {
    // 40 days of 85 minutes are 56.7 hours: (110 / 166.7)^11 = 0.0103, which is over 1 %.
    let server = TestServer::silent_shop(85).await;
    assert_eq!(cannot_tell(&server, None).await, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_torch_that_did_not_run_says_nothing_about_its_parts() {
    let server = TestServer::silent_shop(1).await;
    assert_eq!(cannot_tell(&server, None).await, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_watched_is_not_asked_about() {
    let server = TestServer::silent_shop(90).await;
    let off = NewWatch {
        part: Some(LENS.to_owned()),
        off: true,
        off_because: Some("the lens is kept for show".to_owned()),
        ..NewWatch::default()
    };
    server.owner.create_watch(&off).await.expect("a watch");
    assert_eq!(cannot_tell(&server, None).await, [""; 0]);
    let page = server.owner.list_warnings(&ListWarnings::default()).await;
    assert_eq!(page.expect("warnings").warnings, Vec::<Warning>::new());
}
