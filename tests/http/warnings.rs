//! Scenario X1: the low-stock warning of one electrode size, step by step; and what people answer to it.
//! The figures are those of a negative binomial of size 26 and rate 220, worked out outside this project.

use std::time::Duration;

use client::Client;
use sea_orm::EntityTrait;
use server::service::{Context, looks};
use server::store::{self, Store};
use tigstock_tests::watched::WATCHED;
use tigstock_tests::{TestServer, instant};
use types::{
    GetWarningSelfCheck, ListWarnings, NewAcknowledgement, NewArrival, NewCount, NewLook, NewQuiet,
    NewSite, NewWarningCount, ProblemKind, Role, SiteQuietHours,
};

/// What is told on Wednesday, word for word.
const LOW: &str = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; delivery \
                   takes 1 week. Next: 1 pack of 10, Quayhead, by Mon 22 Jun.";

/// The shop on Wednesday, after one was taken and a look.
async fn on_wednesday() -> TestServer {
    let server = TestServer::watched_shop().await;
    for day in [15, 16] {
        server.set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        server.works(None).await;
    }
    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn one_size_runs_low_and_one_message_is_told() {
    let server = TestServer::watched_shop().await;
    let look = server.looks().await;
    assert!(look.opened.is_empty() && look.told.is_empty(), "{look:?}");
    for day in [15, 16] {
        server.set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        server.works(None).await;
        assert!(server.looks().await.opened.is_empty());
    }

    server.set_clock("2026-06-17T12:00:00-03:00");
    server.works(Some("took")).await;
    let look = server.looks().await;
    assert_eq!((look.opened.len(), look.told.len()), (1, 1), "{look:?}");
    assert_eq!(look.told[0].says, LOW);
    assert_eq!(server.told().await, [("told".to_owned(), LOW.to_owned())]);

    // One more taken, one put back: nothing more is told.
    server.set_clock("2026-06-18T12:00:00-03:00");
    server.works(Some("took")).await;
    server.looks().await;
    server.set_clock("2026-06-19T12:00:00-03:00");
    server.works(Some("put-back")).await;
    server.looks().await;
    assert_eq!(server.on_hand(WATCHED).await, 4);
    assert_eq!(server.told().await.len(), 1);

    // Ten ordered, due in a week: silent, and on order.
    server.set_clock("2026-06-22T09:00:00-03:00");
    let order = server.orders_ten(WATCHED).await;
    let look = server.looks().await;
    assert!(look.told.is_empty() && look.closed.is_empty(), "{look:?}");
    let warning = server.warning().await;
    assert_eq!(
        (warning.state.as_str(), warning.stock.as_deref()),
        ("told", Some("on order"))
    );
    let figures = warning.figures.expect("figures");
    assert_eq!(
        (figures.available, figures.on_order, figures.order_point),
        (4, 10, 4)
    );
    assert_eq!(figures.delivery, Some("2026-06-29".parse().expect("a day")));
    assert!(figures.chance < 0.01, "{figures:?}");

    // They come: the warning closes, which is a line for the digest and no message.
    server.set_clock("2026-06-29T10:00:00-03:00");
    let came = NewArrival::default();
    server
        .owner
        .receive_order(order, &came, "parcel")
        .await
        .expect("received");
    let look = server.looks().await;
    assert_eq!((look.told.len(), look.closed.len()), (0, 1), "{look:?}");
    let told = server.told().await;
    let kinds: Vec<&str> = told.iter().map(|(kind, _)| kind.as_str()).collect();
    assert_eq!(kinds, ["told", "closed"]);
    assert!(told[1].1.contains("closed, 14 available"), "{told:?}");
    let again = server.looks().await;
    assert!(
        again.opened.is_empty() && again.closed.is_empty(),
        "{again:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn with_one_left_before_the_delivery_it_is_told_once_more() {
    let server = on_wednesday().await;
    server.looks().await;
    for day in [18, 19, 20, 21] {
        server.set_clock(&format!("2026-06-{day}T12:00:00-03:00"));
        server.works(None).await;
    }
    server.set_clock("2026-06-22T09:00:00-03:00");
    server.orders_ten(WATCHED).await;
    assert!(server.looks().await.escalated.is_empty());
    for _ in 0..3 {
        server.works(Some("took")).await;
    }
    assert_eq!(server.on_hand(WATCHED).await, 1);
    let look = server.looks().await;
    assert_eq!(look.escalated.len(), 1, "{look:?}");
    let says = &look.escalated[0].says;
    // 1 - P(use <= 1) over 6 hours is 0.160, with what was learned on the way at most 0.17.
    assert!(
        says.contains("1 left. 16 % chance of being short before 29 Jun."),
        "{says}"
    );
    // Worse still, and nothing more.
    server.works(Some("took")).await;
    let look = server.looks().await;
    assert!(
        look.told.is_empty() && look.escalated.is_empty(),
        "{look:?}"
    );
    let kinds: Vec<String> = server
        .told()
        .await
        .into_iter()
        .map(|(kind, _)| kind)
        .collect();
    assert_eq!(kinds, ["told", "escalated"]);
}

/// Another process over the same database.
async fn another(server: &TestServer) -> Context {
    let store = Store::open(server.database()).await.expect("the database");
    Context::start(store, server.clock.clone())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_look_that_was_lost_is_made_up_for_after_a_restart_and_nothing_is_told_twice() {
    let server = on_wednesday().await;
    // The process that wrote the entry never looked. Another one does, and a third.
    let second = another(&server).await;
    let look = looks::look(&second, &NewLook::default())
        .await
        .expect("a look");
    assert_eq!(look.told.len(), 1, "{look:?}");
    let third = another(&server).await;
    let look = looks::look(&third, &NewLook::default())
        .await
        .expect("a look");
    assert!(look.told.is_empty(), "{look:?}");
    assert_eq!(server.told().await, [("told".to_owned(), LOW.to_owned())]);
}

#[tokio::test(flavor = "multi_thread")]
async fn processes_that_look_at_once_tell_it_once_and_send_it_once() {
    let server = on_wednesday().await;
    let (second, third) = (another(&server).await, another(&server).await);
    let new = NewLook::default();
    let (a, b, c) = tokio::join!(
        looks::look(&second, &new),
        looks::look(&third, &new),
        looks::look(&server.context, &new)
    );
    let told = [a, b, c].map(|look| look.expect("a look").told.len());
    assert_eq!(told.iter().sum::<usize>(), 1, "{told:?}");
    assert_eq!(server.told().await.len(), 1);
    let events = store::entity::events::Entity::find();
    let events = events
        .all(server.context.store.read())
        .await
        .expect("events");
    let kinds: Vec<&str> = events.iter().map(|event| event.kind.as_str()).collect();
    assert_eq!(kinds, ["warning.told"]);
    assert_eq!(
        (events[0].subject.as_str(), events[0].says.as_str()),
        (WATCHED, LOW)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_written_is_looked_at_without_being_asked() {
    let server = on_wednesday().await;
    let looking = looks::keep_looking(server.context.clone(), Duration::from_hours(1));
    let looking = tokio::spawn(looking);
    let until = async |told: usize| {
        for _ in 0..100 {
            if server.told().await.len() == told {
                return;
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        panic!("{:?} and not {told}", server.told().await);
    };
    // The first look is at everything, the next ones are at what was entered.
    until(1).await;
    let count = NewCount {
        part: WATCHED.to_owned(),
        counted: 9,
        ..NewCount::default()
    };
    server
        .owner
        .record_count(&count, "nine")
        .await
        .expect("counted");
    until(2).await;
    assert_eq!(server.told().await[1].0, "closed");
    looking.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn many_looks_at_once_tell_it_once() {
    let server = on_wednesday().await;
    let look = || async {
        let client: Client = server.client(Role::Keep);
        client
            .look_at_stock(&NewLook::default())
            .await
            .expect("a look")
    };
    let (a, b, c, d) = tokio::join!(look(), look(), look(), look());
    let told: usize = [a, b, c, d].iter().map(|look| look.told.len()).sum();
    assert_eq!(told, 1);
    assert_eq!(server.told().await.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn in_quiet_hours_it_waits_for_the_morning() {
    let server = on_wednesday().await;
    let site = server.owner.get_site("shop").await.expect("the site");
    let version = site.version;
    let quiet = NewSite {
        quiet_hours: Some(SiteQuietHours {
            from: "10:00".to_owned(),
            to: "07:00".to_owned(),
            weekdays: vec!["wed".to_owned()],
        }),
        ..site.into_new()
    };
    server
        .owner
        .replace_site("shop", &quiet, version)
        .await
        .expect("a site");
    let look = server.looks().await;
    assert_eq!((look.opened.len(), look.told.len()), (1, 0));
    assert_eq!(server.warning().await.state, "open");
    server.set_clock("2026-06-18T07:00:00-03:00");
    assert_eq!(server.looks().await.told.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_silence_ends_and_a_count_is_the_answer_to_a_wrong_warning() {
    let server = on_wednesday().await;
    server.looks().await;
    let id = server.warning().await.id;
    let until_monday = NewQuiet {
        until: "monday".to_owned(),
        on_hand: Some(2),
    };
    let quiet = server
        .owner
        .quiet_warning(id, &until_monday)
        .await
        .expect("silent");
    assert_eq!(quiet.state, "quiet-until");
    assert_eq!(
        quiet.quiet_until,
        Some(instant("2026-06-22T00:00:00-03:00"))
    );

    // "I have 12, not 4": a count, and the warning is over. A repeat counts once.
    let twelve = NewWarningCount {
        counted: 12,
        by: Some("owner".to_owned()),
    };
    let counted = server.owner.count_for_warning(id, &twelve, "twelve").await;
    let counted = counted.expect("counted");
    assert_eq!(
        (counted.counted.counted, counted.warning.state.as_str()),
        (12, "closed")
    );
    let again = server.owner.count_for_warning(id, &twelve, "twelve").await;
    assert_eq!(again.expect("the same").counted, counted.counted);
    assert_eq!(server.on_hand(WATCHED).await, 12);
    let query = GetWarningSelfCheck::default();
    let check = server
        .owner
        .get_warning_self_check(&query)
        .await
        .expect("a check");
    assert_eq!((check.told, check.acted_on), (1, 1), "{check:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_answered_so_is_refused_with_a_remedy() {
    let server = on_wednesday().await;
    server.looks().await;
    let id = server.warning().await.id;
    let refused = |until: &str, on_hand: Option<i64>| {
        let new = NewQuiet {
            until: until.to_owned(),
            on_hand,
        };
        let client = server.owner.clone();
        async move {
            let error = client.quiet_warning(id, &new).await.expect_err("refused");
            let problem = error.problem().expect("a problem").clone();
            let violation = problem.violations.into_iter().next().expect("a violation");
            (violation.pointer, violation.detail)
        }
    };
    let (pointer, why) = refused("", None).await;
    assert!(
        pointer == "/until" && why.contains("a silence has an end"),
        "{why}"
    );
    let (pointer, why) = refused("2026-06-17T11:00:00-03:00", None).await;
    assert!(
        pointer == "/until" && why.contains("not after now"),
        "{why}"
    );
    let (pointer, why) = refused("2027-06-17T11:00:00-03:00", None).await;
    assert!(pointer == "/until" && why.contains("92 days"), "{why}");
    let (pointer, why) = refused("soon", None).await;
    assert!(pointer == "/until" && why.contains("RFC 3339"), "{why}");
    let (pointer, why) = refused("tomorrow", Some(-1)).await;
    assert!(pointer == "/on_hand" && why.contains("-1"), "{why}");
    let unknown = ListWarnings {
        state: Some("loud".to_owned()),
        ..ListWarnings::default()
    };
    let error = server
        .owner
        .list_warnings(&unknown)
        .await
        .expect_err("refused");
    assert!(error.is(ProblemKind::Invalid), "{error:?}");
    let seen = NewAcknowledgement {
        by: Some("owner".to_owned()),
    };
    let seen = server
        .owner
        .acknowledge_warning(id, &seen)
        .await
        .expect("seen");
    // One about stock stands until there is enough.
    assert_eq!(
        (seen.state.as_str(), seen.acknowledged_by.as_deref()),
        ("told", Some("owner"))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_has_a_row_for_each_warning_that_stands() {
    let server = on_wednesday().await;
    server.looks().await;
    let sheet = server
        .owner
        .get_warnings_sheet(&ListWarnings::default())
        .await
        .expect("a sheet");
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(lines.len(), 2, "{sheet}");
    assert!(
        lines[0]
            .starts_with("warning,site,kind,subject,part,job,state,says,opened_at,told_at,as_of")
    );
    assert!(
        lines[1].contains(",order-point,WLa20-1.6,WLa20-1.6,,told,"),
        "{sheet}"
    );
}
