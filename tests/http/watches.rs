//! Watches: those that are there by themselves, those that are set, on one part and on several taken
//! together, and what cannot be watched.

use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use tigstock_tests::watched::WATCHED;
use types::{ListWatches, NewMovement, NewPart, NewSite, NewWatch, Watch};

async fn watches(server: &TestServer) -> Vec<Watch> {
    let page = server.owner.list_watches(&ListWatches::default()).await;
    page.expect("watches").watches
}

fn on_part(part: &str, limit: &str) -> NewWatch {
    NewWatch {
        part: Some(part.to_owned()),
        limit: Some(limit.to_owned()),
        ..NewWatch::default()
    }
}

fn ceriated(code: &str) -> NewPart {
    NewPart {
        class: Some("WCe20".to_owned()),
        ..electrode(code, "1.6 mm")
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_can_stop_work_is_watched_by_itself_until_somebody_sets_it() {
    let server = TestServer::watched_shop().await;
    // Not fitted, in no kit: nothing stops for want of it.
    server.stocked(collet("collet-2.4"), 1).await;
    let by_itself = watches(&server).await;
    assert_eq!(by_itself.len(), 1, "{by_itself:?}");
    assert_eq!(
        (by_itself[0].subject.as_str(), by_itself[0].default),
        (WATCHED, true)
    );
    assert_eq!(by_itself[0].id, None);

    let made = server
        .owner
        .create_watch(&on_part(WATCHED, "7"))
        .await
        .expect("a watch");
    assert_eq!(made.limit.as_deref(), Some("7"));
    let set = watches(&server).await;
    assert_eq!((set.len(), set[0].default), (1, false));
    // Five are left and seven are few: told now, where the order point alone would not be.
    assert_eq!(server.looks().await.told.len(), 1);

    let id = made.id.expect("an id");
    let off = NewWatch {
        off: true,
        off_because: Some("the torch is sold".to_owned()),
        ..on_part(WATCHED, "7")
    };
    let off = server
        .owner
        .replace_watch(id, &off, made.version)
        .await
        .expect("off");
    let look = server.looks().await;
    assert_eq!(look.closed.len(), 1, "{look:?}");
    server
        .owner
        .delete_watch(id, off.version)
        .await
        .expect("gone");
    assert!(watches(&server).await[0].default);
}

#[tokio::test(flavor = "multi_thread")]
async fn limits_come_to_an_order_point_by_the_law_of_use() {
    let server = TestServer::watched_shop().await;
    let mut version = 0;
    let mut id = None;
    // Over the week that delivery takes, P(use <= 0) is 0.50 and P(use <= 1) is 0.84, and some orders are
    // late: at 20 % one piece is few no more; at 10 % two are enough. Eight weeks use 6 in the middle.
    for (round, (limit, point)) in [
        ("chance 20%", 0),
        ("chance 10%", 1),
        ("cover 56d", 5),
        ("9", 9),
    ]
    .into_iter()
    .enumerate()
    {
        let new = NewWatch {
            review_days: Some(7),
            ..on_part(WATCHED, limit)
        };
        let made = match id {
            None => server.owner.create_watch(&new).await,
            Some(id) => server.owner.replace_watch(id, &new, version).await,
        };
        let made = made.expect("a watch");
        (id, version) = (made.id, made.version);
        let nothing = NewMovement {
            part: WATCHED.to_owned(),
            kind: "hold".to_owned(),
            quantity: 5,
            ..NewMovement::default()
        };
        let key = format!("hold-{round}");
        server
            .owner
            .record_movement(&nothing, &key)
            .await
            .expect("it is held");
        server.looks().await;
        let figures = server.warning().await.figures.expect("figures");
        assert_eq!(
            (figures.order_point, figures.available),
            (point, 0),
            "{limit}"
        );
        let free = NewMovement {
            kind: "release".to_owned(),
            ..nothing
        };
        let key = format!("free-{round}");
        server
            .owner
            .record_movement(&free, &key)
            .await
            .expect("it is free");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_filter_takes_stock_and_use_of_its_parts_together() {
    let server = TestServer::watched_shop().await;
    server.stocked(ceriated("WCe20-1.6"), 4).await;
    let filter = NewWatch {
        filter: Some("electrode 1.6 WLa20,WCe20".to_owned()),
        limit: Some("9".to_owned()),
        ..NewWatch::default()
    };
    let made = server.owner.create_watch(&filter).await.expect("a watch");
    assert_eq!(made.notes, ["Takes together: WCe20-1.6, WLa20-1.6."]);
    let look = server.looks().await;
    assert_eq!(look.told.len(), 1, "{look:?}");
    let figures = look.told[0].figures.clone().expect("figures");
    assert_eq!((figures.available, figures.order_point), (9, 9));
    assert!(
        look.told[0]
            .says
            .starts_with("Electrode 1.6 mm, WCe20 or WLa20: 9 left, order point 9."),
        "{}",
        look.told[0].says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_filter_that_takes_nothing_is_kept_and_names_the_nearest() {
    let server = TestServer::watched_shop().await;
    let filter = NewWatch {
        filter: Some("electrode 3.2 WLa20".to_owned()),
        ..NewWatch::default()
    };
    let made = server.owner.create_watch(&filter).await.expect("a watch");
    assert!(
        made.notes[0].contains("nearest is WLa20-1.6"),
        "{:?}",
        made.notes
    );
    assert!(server.looks().await.opened.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_watched_is_refused_with_a_remedy() {
    let server = TestServer::watched_shop().await;
    let refused = |new: NewWatch| {
        let client = server.owner.clone();
        async move {
            let error = client.create_watch(&new).await.expect_err("refused");
            let problem = error.problem().expect("a problem").clone();
            let told = problem.violations.into_iter();
            told.map(|it| format!("{} {}", it.pointer, it.detail))
                .collect::<Vec<_>>()
                .join("; ")
        }
    };
    let why = refused(on_part(WATCHED, "-4")).await;
    assert!(why.contains("/limit -4 is below zero"), "{why}");
    let why = refused(NewWatch::default()).await;
    assert!(why.contains("/part 0 given"), "{why}");
    let why = refused(on_part("WLa20-9", "4")).await;
    assert!(why.contains("/part there is no part WLa20-9"), "{why}");
    let odd = NewWatch {
        channels: vec!["pigeon".to_owned()],
        off: true,
        week_minutes: Some(0),
        target: Some(1.5),
        ..on_part(WATCHED, "4")
    };
    let why = refused(odd).await;
    for words in ["/channels/0", "/off_because", "/week_minutes", "/target"] {
        assert!(why.contains(words), "no {words}: {why}");
    }
    let made = server.owner.create_watch(&on_part(WATCHED, "4")).await;
    made.expect("a watch");
    let error = server
        .owner
        .create_watch(&on_part(WATCHED, "5"))
        .await
        .expect_err("there is one");
    assert!(error.to_string().contains("already there"), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_week_has_room_for_so_many_and_the_weightiest_go_first() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let site = server.owner.get_site("shop").await.expect("the site");
    let version = site.version;
    let two = NewSite {
        weekly_limit: Some(2),
        ..site.into_new()
    };
    server
        .owner
        .replace_site("shop", &two, version)
        .await
        .expect("a site");
    for (code, counted) in [
        ("WLa20-1.6", 1),
        ("WLa20-2.4", 0),
        ("WLa20-3.2", 1),
        ("WLa20-4.0", 0),
    ] {
        let diameter = format!("{} mm", code.trim_start_matches("WLa20-"));
        server.stocked(electrode(code, &diameter), counted).await;
        server
            .owner
            .create_watch(&on_part(code, "1"))
            .await
            .expect("a watch");
    }
    let look = server.looks().await;
    assert_eq!((look.opened.len(), look.told.len()), (4, 2), "{look:?}");
    let mut told: Vec<&str> = look.told.iter().map(|it| it.subject.as_str()).collect();
    told.sort_unstable();
    // What is gone weighs more than what is low.
    assert_eq!(told, ["WLa20-2.4", "WLa20-4.0"]);
    let page = server
        .owner
        .list_warnings(&types::ListWarnings::default())
        .await;
    let held: Vec<String> = page
        .expect("warnings")
        .warnings
        .into_iter()
        .filter(|it| it.held_back_at.is_some())
        .map(|it| it.subject)
        .collect();
    assert_eq!(held, ["WLa20-3.2", "WLa20-1.6"]);
    server.set_clock("2026-06-21T08:00:00-03:00");
    assert!(server.looks().await.told.is_empty());
    // A week later there is room again: the two go, or they were in a digest before and do not.
    let digest = server.digest_of_warnings("2026-06-15T00:00:00-03:00").await;
    assert_eq!(digest.waiting.len(), 2, "{digest:?}");
    assert!(digest.waiting[0].starts_with("Electrode WLa20 1.6 mm: 1 left, order point 1."));
    assert!(
        digest.closed.is_empty() && digest.proposal.is_none(),
        "{digest:?}"
    );
    let again = server.digest_of_warnings("2026-06-15T00:00:00-03:00").await;
    assert!(again.waiting.is_empty(), "{again:?}");
    server.set_clock("2026-06-22T08:00:00-03:00");
    assert!(server.looks().await.told.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn what_waited_for_a_week_is_told_when_there_is_room() {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    let site = server.owner.get_site("shop").await.expect("the site");
    let version = site.version;
    let one = NewSite {
        weekly_limit: Some(1),
        ..site.into_new()
    };
    server
        .owner
        .replace_site("shop", &one, version)
        .await
        .expect("a site");
    for code in ["WLa20-1.6", "WLa20-2.4"] {
        let diameter = format!("{} mm", code.trim_start_matches("WLa20-"));
        server.stocked(electrode(code, &diameter), 1).await;
        let watch = server.owner.create_watch(&on_part(code, "1")).await;
        watch.expect("a watch");
    }
    assert_eq!(server.looks().await.told[0].subject, "WLa20-1.6");
    server.set_clock("2026-06-22T07:59:59-03:00");
    assert!(server.looks().await.told.is_empty());
    server.set_clock("2026-06-22T08:00:00-03:00");
    assert_eq!(server.looks().await.told[0].subject, "WLa20-2.4");
}

fn on_torch(torch: &str) -> NewWatch {
    NewWatch {
        torch: Some(torch.to_owned()),
        ..NewWatch::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_watch_on_a_torch_says_where_its_wear_is_told() {
    let server = crate::torch_wear::eats_electrodes().await;
    let new = NewWatch {
        channels: vec!["mail".to_owned(), "calendar".to_owned()],
        ..on_torch("T2")
    };
    let made = server.owner.create_watch(&new).await.expect("a watch");
    assert_eq!(
        (made.subject.as_str(), made.torch.as_deref(), &made.limit),
        ("T2", Some("T2"), &None)
    );
    let listed = watches(&server).await;
    assert!(listed.contains(&made), "{listed:?}");
    let look = server.looks().await;
    let told = look.told.iter().filter(|it| it.kind == "torch-wear");
    let told: Vec<_> = told.collect();
    assert_eq!(told.len(), 1, "{look:?}");
    assert_eq!(told[0].subject, "T2");
    assert_eq!(told[0].channels, ["page", "mail", "calendar"]);
    // Off: what stands closes, and is not raised again.
    let id = made.id.expect("an id");
    let off = NewWatch {
        off: true,
        off_because: Some("it is sent to be mended".to_owned()),
        ..on_torch("T2")
    };
    let off = server.owner.replace_watch(id, &off, made.version).await;
    let off = off.expect("off");
    let look = server.looks().await;
    assert_eq!(look.closed.len(), 1, "{look:?}");
    assert_eq!(look.closed[0].kind, "torch-wear");
    // Without the watch it is checked as every torch is, with the next week.
    server
        .owner
        .delete_watch(id, off.version)
        .await
        .expect("gone");
    server.set_clock("2026-06-22T08:00:00-03:00");
    let look = server.looks().await;
    let told = look.told.iter().find(|it| it.kind == "torch-wear");
    assert_eq!(
        told.expect("it is told").channels,
        ["page", "mail", "webhook"]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_wrong_with_a_watch_on_a_torch_is_told() {
    let server = TestServer::watched_shop().await;
    let school = NewSite {
        code: "school".to_owned(),
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&school).await.expect("a site");
    let elsewhere = NewWatch {
        site: Some("school".to_owned()),
        ..on_torch("T2")
    };
    let limited = NewWatch {
        limit: Some("4".to_owned()),
        ..on_torch("T2")
    };
    let both = NewWatch {
        part: Some(WATCHED.to_owned()),
        ..on_torch("T2")
    };
    for (new, pointer, says) in [
        (on_torch("T9"), "/torch", "T9"),
        (elsewhere, "/torch", "T2 is not at school"),
        (limited, "/limit", "leave it out"),
        (both, "/part", "give one of"),
    ] {
        let refused = server.owner.create_watch(&new).await;
        let refused = refused.expect_err("it is refused");
        let problem = refused.problem().expect("a problem").clone();
        let told = &problem.violations[0];
        assert_eq!(told.pointer, pointer, "{problem:?}");
        assert!(told.detail.contains(says), "{problem:?}");
    }
    // A torch that is watched goes nowhere: what was done with it stays on record.
    let made = server.owner.create_watch(&on_torch("T2")).await;
    let made = made.expect("a watch");
    let heard = server.ask("DELETE", "/v1/torches/T2").if_match(1);
    heard
        .send()
        .await
        .problem(types::ProblemKind::MethodNotAllowed);
    assert!(watches(&server).await.contains(&made));
}
