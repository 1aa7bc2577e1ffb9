//! Transfers: pieces that move between sites as one entry, and never more than are there.

use client::Error;
use domain::safety::Hazard;
use tigstock_tests::TestServer;
use types::{
    GetStock, GetTrace, ListMovements, NewAllocation, NewAnswer, NewJob, NewLotHold, NewMovement,
    NewReceipt, NewReversal, NewSite, NewTransfer, ProblemKind, Recorded,
};

use crate::site_rules::{THORIATED, both, refused, school};

const SITES: [&str; 3] = ["shop", "tarnbridge", "yard"];

/// The home shop with 7 thoriated electrodes, the school that bars them, and a yard that does not.
async fn three() -> TestServer {
    let server = both().await;
    let yard = NewSite {
        code: "yard".to_owned(),
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&yard).await.expect("a site");
    server
}

async fn transfer(
    server: &TestServer,
    quantity: i64,
    (from, to): (&str, &str),
) -> Result<Recorded, Error> {
    let transfer = NewTransfer {
        part: THORIATED.to_owned(),
        quantity,
        from: from.to_owned(),
        to: to.to_owned(),
        ..NewTransfer::default()
    };
    let key = uuid::Uuid::now_v7().to_string();
    server.owner.record_transfer(&transfer, &key).await
}

async fn on_hand(server: &TestServer) -> [i64; 3] {
    let mut all = [0; 3];
    for (site, there) in SITES.iter().zip(&mut all) {
        let query = GetStock {
            site: Some((*site).to_owned()),
            ..GetStock::default()
        };
        let stock = server.owner.get_stock(THORIATED, &query).await;
        *there = stock.expect("stock").on_hand;
    }
    all
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transfer_into_a_site_that_bars_the_class_is_refused_and_nothing_moves() {
    let server = three().await;
    let rows = server.rows().await;
    let moved = transfer(&server, 5, ("shop", "tarnbridge")).await;
    let named = [THORIATED, "not permitted at Tarnbridge", "thoriated"];
    refused(moved, "/to", &named);
    assert_eq!(on_hand(&server).await, [7, 0, 0]);
    assert_eq!(server.rows().await, rows);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transfer_is_one_entry_with_a_row_at_each_site() {
    let server = three().await;
    let told = transfer(&server, 5, ("shop", "yard")).await.unwrap();
    assert_eq!(
        told.says,
        "Moved 5 WTh20-2.4 from shop to yard. WTh20-2.4: 2 left at shop, 5 at yard."
    );
    assert_eq!(told.cautions[0], Hazard::Thoriated.text());
    let stock: Vec<_> = told
        .stock
        .iter()
        .map(|stock| (stock.site.as_deref(), stock.on_hand))
        .collect();
    assert_eq!(stock, [(Some("shop"), 2), (Some("yard"), 5)]);
    assert_eq!(on_hand(&server).await, [2, 0, 5]);
    let query = ListMovements {
        part: Some(THORIATED.to_owned()),
        ..ListMovements::default()
    };
    let ledger = server.owner.list_movements(&query).await.unwrap();
    let rows: Vec<_> = ledger
        .movements
        .iter()
        .map(|row| (&*row.kind, &*row.site, row.quantity, row.entry))
        .collect();
    let entry = told.entry;
    assert_eq!(
        rows,
        [
            ("transfer", "yard", 5, entry),
            ("transfer", "shop", -5, entry)
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn taking_a_transfer_back_puts_both_sites_right() {
    let server = three().await;
    let moved = transfer(&server, 5, ("shop", "yard")).await.unwrap();
    let undo = NewReversal {
        entry: moved.entry,
        why: None,
    };
    let told = server.owner.record_reversal(&undo, "undo").await.unwrap();
    assert_eq!(on_hand(&server).await, [7, 0, 0]);
    assert_eq!(told.stock.len(), 2, "{told:?}");
    let found = server::service::rebuild::rebuild(&server.context).await;
    assert_eq!(found.unwrap().levels_wrong, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn no_more_is_moved_than_is_there_and_not_set_aside() {
    let server = three().await;
    let hold = NewMovement {
        part: THORIATED.to_owned(),
        kind: "hold".to_owned(),
        quantity: 3,
        ..NewMovement::default()
    };
    server.owner.record_movement(&hold, "hold").await.unwrap();
    let error = transfer(&server, 5, ("shop", "yard")).await.unwrap_err();
    assert!(error.is(ProblemKind::Invalid));
    let problem = error.problem().expect("a problem");
    assert!(problem.detail.contains("5 of WTh20-2.4"), "{problem:?}");
    assert!(problem.detail.contains("4 can be"), "{problem:?}");
    transfer(&server, 4, ("shop", "yard")).await.unwrap();
    assert_eq!(on_hand(&server).await, [3, 0, 4]);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_only_the_rule_holds_can_be_moved_to_a_site_that_permits_it() {
    let server = three().await;
    let receipt = NewReceipt {
        part: THORIATED.to_owned(),
        quantity: 10,
        site: Some("tarnbridge".to_owned()),
        ..NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "r").await.unwrap();
    transfer(&server, 10, ("tarnbridge", "shop")).await.unwrap();
    assert_eq!(on_hand(&server).await, [17, 0, 0]);
    assert_eq!(server.stock(THORIATED).await.available, 17);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_barred_can_be_sent_back_to_the_supplier() {
    let server = three().await;
    let receipt = NewReceipt {
        part: THORIATED.to_owned(),
        quantity: 10,
        site: Some("tarnbridge".to_owned()),
        ..NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "r").await.unwrap();
    let back = NewMovement {
        part: THORIATED.to_owned(),
        kind: "supplier-return".to_owned(),
        quantity: 10,
        site: Some("tarnbridge".to_owned()),
        ..NewMovement::default()
    };
    let told = server.owner.record_movement(&back, "back").await.unwrap();
    assert_eq!(
        told.says,
        "Returned to supplier: 10 WTh20-2.4. WTh20-2.4: 0 left."
    );
    assert_eq!(on_hand(&server).await, [7, 0, 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sum_over_all_sites_never_changes() {
    let server = three().await;
    let free = NewSite {
        barred: Vec::new(),
        ..school()
    };
    server
        .owner
        .replace_site("tarnbridge", &free, 1)
        .await
        .unwrap();
    // A fixed walk over sites and quantities, some of them too many; every third is taken back.
    let (mut moved, mut refused) = (0, 0);
    for step in 0_i64..40 {
        let from = usize::try_from(step * 7 % 3).expect("small");
        let to = usize::try_from((step * 7 + 1 + step % 2) % 3).expect("small");
        let quantity = 1 + step * 5 % 6;
        match transfer(&server, quantity, (SITES[from], SITES[to])).await {
            Ok(told) => {
                moved += 1;
                if step % 3 == 0 {
                    let undo = NewReversal {
                        entry: told.entry,
                        why: None,
                    };
                    let key = format!("undo-{step}");
                    server.owner.record_reversal(&undo, &key).await.unwrap();
                }
            }
            Err(error) => {
                assert!(error.is(ProblemKind::Invalid), "{error:?}");
                refused += 1;
            }
        }
        let there = on_hand(&server).await;
        assert_eq!(there.iter().sum::<i64>(), 7, "step {step}: {there:?}");
        assert!(there.iter().all(|there| *there >= 0), "{there:?}");
    }
    assert!(moved > 5 && refused > 5, "{moved} moved, {refused} refused");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repeated_transfer_moves_once() {
    let server = three().await;
    let twice = NewTransfer {
        part: THORIATED.to_owned(),
        quantity: 2,
        from: "shop".to_owned(),
        to: "yard".to_owned(),
        ..NewTransfer::default()
    };
    let first = server.owner.record_transfer(&twice, "once").await.unwrap();
    let again = server.owner.record_transfer(&twice, "once").await.unwrap();
    assert_eq!(first, again);
    assert_eq!(on_hand(&server).await, [5, 0, 2]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lot_moves_with_its_pieces_unless_it_is_on_hold() {
    let server = three().await;
    let receipt = NewReceipt {
        part: THORIATED.to_owned(),
        quantity: 6,
        lot: Some("L-9".to_owned()),
        ..NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "r").await.unwrap();
    let of_lot = |quantity| NewTransfer {
        part: THORIATED.to_owned(),
        quantity,
        from: "shop".to_owned(),
        to: "yard".to_owned(),
        lot: Some("L-9".to_owned()),
        ..NewTransfer::default()
    };
    server
        .owner
        .record_transfer(&of_lot(2), "two")
        .await
        .unwrap();
    let trace = server.owner.trace_lot("L-9", &GetTrace::default()).await;
    let trace = trace.unwrap();
    let left: Vec<_> = trace
        .lines
        .iter()
        .map(|line| (&*line.what, &*line.place, line.quantity))
        .collect();
    assert_eq!(left, [("left", "shop", 4), ("left", "yard", 2)]);
    assert_eq!((trace.received, trace.gap), (6, 0));
    let hold = NewLotHold::default();
    server.owner.hold_lot("L-9", &hold, "hold").await.unwrap();
    let held = server.owner.record_transfer(&of_lot(1), "one").await;
    refused(held, "/lot", &["L-9", "on hold", "release it"]);
    let unknown = NewTransfer {
        lot: Some("L-8".to_owned()),
        ..of_lot(1)
    };
    let unknown = server.owner.record_transfer(&unknown, "unknown").await;
    refused(unknown, "/lot", &["L-8", "never received"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn barred_pieces_are_promised_to_no_job() {
    let server = three().await;
    let receipt = NewReceipt {
        part: THORIATED.to_owned(),
        quantity: 6,
        site: Some("tarnbridge".to_owned()),
        ..NewReceipt::default()
    };
    server.owner.record_receipt(&receipt, "r").await.unwrap();
    let job = NewJob {
        code: "R-9".to_owned(),
        torch: Some("station-3".to_owned()),
        site: Some("tarnbridge".to_owned()),
        arc_minutes: Some(60),
        start: "2026-06-26".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.unwrap();
    let promise = NewAllocation {
        job: "R-9".to_owned(),
        part: THORIATED.to_owned(),
        quantity: 2,
        ..NewAllocation::default()
    };
    let promised = server.owner.record_allocation(&promise, "promise").await;
    refused(promised, "/part", &["not permitted at Tarnbridge"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_transfer_of_long_ago_is_kept_aside_and_moves_when_the_date_is_confirmed() {
    let server = three().await;
    let old = NewTransfer {
        part: THORIATED.to_owned(),
        quantity: 2,
        from: "shop".to_owned(),
        to: "yard".to_owned(),
        at: Some("2026-01-05T08:00:00-04:00".parse().expect("an instant")),
        ..NewTransfer::default()
    };
    let aside = server.owner.record_transfer(&old, "old").await;
    assert!(matches!(aside, Err(Error::KeptAside(_))), "{aside:?}");
    assert_eq!(on_hand(&server).await, [7, 0, 0]);
    let answer = NewAnswer {
        answer: "as-received".to_owned(),
        ..NewAnswer::default()
    };
    let answered = server.owner.answer_question(1, &answer, "answer").await;
    answered.unwrap();
    assert_eq!(on_hand(&server).await, [5, 0, 2]);
}
