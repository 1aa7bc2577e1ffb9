//! Many at once: everything that was acknowledged is in, nothing is in twice, and of two edits of
//! one version one wins.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::shop::taken;
use types::{NewCount, NewMovement, NewPart, NewReceipt, Part, ProblemKind, Role};

const PART: &str = "WLa20-2.4";
const TASKS: usize = 64;

async fn shop(counted: i64) -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(electrode(PART, "2.4 mm"), counted).await;
    server.torch("T1", &[PART]).await;
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

#[tokio::test(flavor = "multi_thread")]
async fn sixty_four_who_take_one_each_leave_an_exact_stock() {
    let server = shop(100).await;
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let client = server.client(Role::Log);
            tokio::spawn(async move {
                let key = format!("task-{task}");
                client.record_usage(&taken(PART), &key).await
            })
        })
        .collect();
    let mut left = Vec::new();
    for task in tasks {
        let recorded = task.await.unwrap().expect("it is acknowledged");
        left.push(recorded.stock[0].on_hand);
    }
    assert_eq!(server.on_hand(PART).await, 36);
    assert_eq!(server.rows().await, TASKS);
    // Each was told another figure: they came one after the other.
    left.sort_unstable();
    assert_eq!(left, (36..100).collect::<Vec<i64>>());
}

#[tokio::test(flavor = "multi_thread")]
async fn sixty_four_who_do_different_things_each_of_them_twice_leave_an_exact_stock() {
    let server = shop(1_000).await;
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let client = server.client(Role::Keep);
            tokio::spawn(async move {
                // What it does to stock: taken 1, scrapped 2, came back 3, received 5.
                for (kind, quantity) in [("issue", 1), ("scrap", 2), ("return", 3)] {
                    let movement = NewMovement {
                        part: PART.to_owned(),
                        kind: kind.to_owned(),
                        quantity,
                        ..NewMovement::default()
                    };
                    let key = format!("{task}-{kind}");
                    let (first, again) = tokio::join!(
                        client.record_movement(&movement, &key),
                        client.record_movement(&movement, &key)
                    );
                    assert_eq!(first.expect("it is taken"), again.expect("it is repeated"));
                }
                let receipt = NewReceipt {
                    part: PART.to_owned(),
                    quantity: 5,
                    ..NewReceipt::default()
                };
                for _ in 0..2 {
                    let key = format!("{task}-receipt");
                    let taken = client.record_receipt(&receipt, &key).await;
                    taken.expect("it is taken");
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    // 64 times -1 - 2 + 3 + 5.
    assert_eq!(server.on_hand(PART).await, 1_000 + 64 * 5);
    assert_eq!(server.rows().await, 4 * TASKS);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_wrong_entry_among_many_harms_no_other() {
    let server = shop(100).await;
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let client = server.client(Role::Log);
            let part = if task % 8 == 3 { "nothing" } else { PART };
            tokio::spawn(async move {
                let key = format!("task-{task}");
                client.record_usage(&taken(part), &key).await.is_ok()
            })
        })
        .collect();
    let mut acknowledged = 0;
    for task in tasks {
        acknowledged += i64::from(task.await.unwrap());
    }
    assert_eq!(acknowledged, 56);
    assert_eq!(server.on_hand(PART).await, 100 - acknowledged);
}

#[tokio::test(flavor = "multi_thread")]
async fn counts_and_use_at_once_end_at_the_newest_count_and_what_came_after() {
    let server = shop(100).await;
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let client = server.client(Role::Log);
            tokio::spawn(async move {
                let key = format!("task-{task}");
                let at = |minute: usize| {
                    let at = format!("2026-06-15T07:{minute:02}:30-03:00");
                    Some(at.parse().expect("an instant"))
                };
                if task == 40 {
                    let count = NewCount {
                        part: PART.to_owned(),
                        counted: 50,
                        at: Some("2026-06-15T08:00:30-03:00".parse().expect("an instant")),
                        ..NewCount::default()
                    };
                    client.record_count(&count, &key).await.map(|_| ())
                } else {
                    let mut usage = taken(PART);
                    // Half of them happened before the count, half after it.
                    usage.at = if task % 2 == 0 { at(task % 60) } else { None };
                    client.record_usage(&usage, &key).await.map(|_| ())
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap().expect("it is acknowledged");
    }
    assert_eq!(server.on_hand(PART).await, 50 - 32);
}

#[tokio::test(flavor = "multi_thread")]
async fn of_two_edits_of_one_version_one_wins() {
    let server = shop(1).await;
    let part = server.owner.get_part(PART).await.unwrap();
    let version = part.version;
    let with = |part: &Part, note: &str| NewPart {
        note: Some(note.to_owned()),
        ..part.clone().into_new()
    };
    let (left, right) = (with(&part, "left"), with(&part, "right"));
    let (first, second) = tokio::join!(
        server.owner.replace_part(PART, &left, version),
        server.owner.replace_part(PART, &right, version)
    );
    let (won, lost) = match (first, second) {
        (Ok(won), Err(lost)) | (Err(lost), Ok(won)) => (won, lost),
        both => panic!("one wins: {both:?}"),
    };
    assert!(lost.is(ProblemKind::Stale), "{lost}");
    assert_eq!(server.owner.get_part(PART).await.unwrap(), won);
    assert_eq!(won.version, version + 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn of_many_who_make_the_same_name_one_makes_it() {
    let server = TestServer::start().await;
    let tasks: Vec<_> = (0..16)
        .map(|_| {
            let client = server.client(Role::Keep);
            tokio::spawn(async move { client.create_part(&electrode("same", "2.4 mm")).await })
        })
        .collect();
    let mut made = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(_) => made += 1,
            Err(error) => assert!(error.is(ProblemKind::AlreadyExists), "{error}"),
        }
    }
    assert_eq!(made, 1);
}
