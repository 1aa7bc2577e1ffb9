//! Warnings about work to come: the last hour to order, the kit that is not complete, and the job that a
//! part is low for. The job is that of the big-job scenario, whose figures were worked out elsewhere.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, collet, electrode};
use types::{
    GetWarningSelfCheck, KitLine, NewClosing, NewJob, NewKit, NewOffer, NewUsage, NewWatch,
};

use crate::double_entry;

/// R-118 needs 34 arc hours at T1 from Friday 26 June; of collets, 7 pieces in 410 hours on Gamma(0.5, 50)
/// are 2 at 95 %, and one is there.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.zone("America/Halifax").await;
    server
        .stocked(assuming(collet("collet-2.4"), "arc-hour", 7.5, 460.0), 1)
        .await;
    server
        .stocked(
            assuming(electrode("WLa20-2.4", "2.4 mm"), "arc-hour", 60.0, 430.0),
            20,
        )
        .await;
    server.torch("T1", &["collet-2.4"]).await;
    server.quayhead("collet-2.4").await;
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: "collet-2.4".to_owned(),
        pack_size: 5,
        price_minor: 1_250,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let kit = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: ["WLa20-2.4", "collet-2.4"]
            .map(|part| KitLine {
                part: part.to_owned(),
                quantity: 1,
                or: Vec::new(),
            })
            .to_vec(),
    };
    server.owner.create_kit(&kit).await.expect("a kit");
    let job = NewJob {
        code: "R-118".to_owned(),
        torch: Some("T1".to_owned()),
        kit: Some("K-24".to_owned()),
        arc_minutes: Some(34 * 60),
        start: "2026-06-26".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn the_last_hour_to_order_is_told_three_open_days_before() {
    let server = shop().await;
    // Five open days before Friday 26 June: the last order is on Thursday 18 June; told from Monday on.
    let look = server.looks().await;
    let told = look
        .told
        .iter()
        .find(|it| it.kind == "order-by")
        .expect("a deadline");
    assert_eq!(
        (told.job.as_deref(), told.subject.as_str()),
        (Some("R-118"), "R-118")
    );
    assert!(
        told.says.starts_with("R-118 starts Fri 26 June: "),
        "{}",
        told.says
    );
    assert!(
        told.says
            .contains("5 collet-2.4, Quayhead 12.50, by Thu 18 June"),
        "{}",
        told.says
    );
    assert!(server.looks().await.told.is_empty());
    // What is on order in time is enough, and the warning is over.
    let query = types::DraftOrders::default();
    let drafts = server.owner.draft_job_orders("R-118", &query, "draft");
    let drafts = drafts.await.expect("drafts");
    for order in &drafts.orders {
        server
            .owner
            .place_order(order.number)
            .await
            .expect("placed");
    }
    let look = server.looks().await;
    assert!(
        look.closed.iter().any(|it| it.kind == "order-by"),
        "{look:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_low_for_a_job_names_the_job_and_the_hour() {
    let server = shop().await;
    let watch = NewWatch {
        part: Some("collet-2.4".to_owned()),
        limit: Some("2".to_owned()),
        ..NewWatch::default()
    };
    server.owner.create_watch(&watch).await.expect("a watch");
    let look = server.looks().await;
    let told = look
        .told
        .iter()
        .find(|it| it.kind == "order-point")
        .expect("a warning");
    assert_eq!(
        told.says,
        "Collet 2.4 mm, large body: 1 left, order point 2. R-118 starts Fri 26 June and needs 2. Next: \
         pack of 5, Quayhead 12.50, by Thu 18 June 12:00."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kit_that_is_not_complete_is_told_in_the_last_week() {
    let server = shop().await;
    let take = NewUsage {
        part: Some("collet-2.4".to_owned()),
        what: Some("lost".to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&take, "lost")
        .await
        .expect("it is recorded");
    server.set_clock("2026-06-18T08:00:00-03:00");
    assert!(server.looks().await.told.iter().all(|it| it.kind != "kit"));
    server.set_clock("2026-06-19T08:00:00-03:00");
    let look = server.looks().await;
    let told = look
        .told
        .iter()
        .find(|it| it.kind == "kit")
        .expect("a warning");
    assert!(
        told.says
            .starts_with("R-118 starts Fri 26 June: kit K-24 on T1 is "),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn where_only_a_double_entry_takes_it_to_its_limit_that_is_said_first() {
    let server = double_entry::shop().await;
    let watch = NewWatch {
        part: Some("WLa20-2.4".to_owned()),
        limit: Some("12".to_owned()),
        ..NewWatch::default()
    };
    server.owner.create_watch(&watch).await.expect("a watch");
    double_entry::both(&server).await;
    let look = server.looks().await;
    assert_eq!(look.told.len(), 1, "{look:?}");
    let says = &look.told[0].says;
    assert!(
        says.starts_with(
            "Perhaps not: Possible double entry on T1: helper 14:02, owner 14:06. Same tip change?"
        ),
        "{says}"
    );
    assert!(says.contains("If it is the same, 13 are left."), "{says}");
}

/// How many warnings were told, and how many of them were acted on.
async fn acted_on(server: &TestServer) -> (i64, i64) {
    let query = GetWarningSelfCheck::default();
    let check = server.owner.get_warning_self_check(&query).await;
    let check = check.expect("a check");
    (check.told, check.acted_on)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_that_is_moved_made_smaller_or_closed_was_acted_on() {
    for (what, says) in [
        ("later", "R-118 was moved to 2026-07-03."),
        ("smaller", "R-118 was made smaller."),
        ("closed", "R-118 was closed."),
    ] {
        let server = shop().await;
        let look = server.looks().await;
        let told: Vec<_> = look
            .told
            .iter()
            .filter(|it| it.kind == "order-by")
            .collect();
        assert_eq!(told.len(), 1, "{look:?}");
        let (before, acted) = acted_on(&server).await;
        assert_eq!(acted, 0, "{what}");
        server.pass(chrono::TimeDelta::hours(1));
        let job = server.owner.get_job("R-118").await.expect("the job");
        let version = job.version;
        let mut new = job.into_new();
        match what {
            "later" => new.start = "2026-07-03".parse().expect("a day"),
            "smaller" => new.arc_minutes = Some(20 * 60),
            _ => {}
        }
        if what == "closed" {
            let closing = NewClosing::default();
            let told = server.owner.close_job("R-118", &closing, "closed").await;
            told.expect("it is closed");
        } else {
            let told = server.owner.replace_job("R-118", &new, version).await;
            told.expect("it is replaced");
        }
        let warning = server.owner.get_warning(told[0].id).await;
        let messages = warning.expect("a warning").messages;
        let last = messages.last().expect("a message");
        assert_eq!((last.kind.as_str(), last.says.as_str()), ("acted", says));
        let (after, acted) = acted_on(&server).await;
        assert_eq!((after, acted), (before, 1), "{what}");
        // That is no message of its own: nothing is told for it.
        server.looks().await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_that_is_renamed_or_made_larger_was_not_acted_on() {
    let server = shop().await;
    server.looks().await;
    let job = server.owner.get_job("R-118").await.expect("the job");
    let version = job.version;
    let larger = NewJob {
        name: Some("handrail".to_owned()),
        arc_minutes: Some(40 * 60),
        start: "2026-06-25".parse().expect("a day"),
        ..job.into_new()
    };
    let told = server.owner.replace_job("R-118", &larger, version).await;
    told.expect("it is replaced");
    assert_eq!(acted_on(&server).await.1, 0);
}
