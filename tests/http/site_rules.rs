//! Scenario S2: thoriated electrodes at a school that bars them. Facts are recorded, plans are
//! refused, and what is barred counts nowhere. The words are those of the scenario.

use client::Error;
use domain::safety::Hazard;
use tigstock_tests::TestServer;
use tigstock_tests::builders::{electrode, torch};
use types::{
    DraftOrders, GetForecasts, GetNeeds, GetStock, KitLine, ListQuestions, NewAnswer, NewJob,
    NewKit, NewMovement, NewOffer, NewOrder, NewOrderLine, NewPart, NewReceipt, NewReversal,
    NewSetUp, NewSite, NewStub, NewSupplier, NewUsage, NewUsageBatch, ProblemKind, Recorded, Stock,
};

pub(crate) const THORIATED: &str = "WTh20-2.4";
const LANTHANATED: &str = "WLa20-2.4";
const SCHOOL: &str = "tarnbridge";
const THORIATED_CAUTION: &str = "Thoriated: slightly radioactive; the concern is grinding dust. \
    Thorium-free classes are usually preferred where the procedure allows. Extraction, no dry \
    sweeping, dispose as your authority requires.";

pub(crate) fn of_class(code: &str, class: &str) -> NewPart {
    NewPart {
        class: Some(class.to_owned()),
        ..electrode(code, "2.4 mm")
    }
}

pub(crate) fn school() -> NewSite {
    NewSite {
        code: SCHOOL.to_owned(),
        name: Some("Tarnbridge".to_owned()),
        zone: "America/Halifax".to_owned(),
        barred: vec!["thoriated".to_owned()],
        responsible: Some("instructor".to_owned()),
        discard_length: None,
        ..NewSite::default()
    }
}

/// The home shop with 7 thoriated electrodes, and the school with 14 lanthanated ones and a torch,
/// station 3.
pub(crate) async fn both() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    server.stocked(of_class(THORIATED, "WTh20"), 7).await;
    server.part(electrode(LANTHANATED, "2.4 mm")).await;
    server.owner.create_site(&school()).await.expect("a site");
    receive(&server, LANTHANATED, 14).await;
    let mut station = torch("station-3");
    station.site = Some(SCHOOL.to_owned());
    let made = server.owner.create_torch(&station).await.expect("a torch");
    let fitted = NewSetUp {
        parts: vec![LANTHANATED.to_owned()],
    };
    let fitted = server
        .owner
        .replace_set_up("station-3", &fitted, made.version);
    fitted.await.expect("a set-up");
    server.set_clock("2026-06-15T09:00:00-03:00");
    server
}

async fn receive(server: &TestServer, part: &str, quantity: i64) -> Recorded {
    let receipt = NewReceipt {
        part: part.to_owned(),
        quantity,
        site: Some(SCHOOL.to_owned()),
        ..NewReceipt::default()
    };
    let key = format!("parcel-{part}-{quantity}");
    server
        .owner
        .record_receipt(&receipt, &key)
        .await
        .expect("it is done")
}

async fn at_school(server: &TestServer, part: &str) -> Stock {
    let query = GetStock {
        site: Some(SCHOOL.to_owned()),
        ..GetStock::default()
    };
    server
        .owner
        .get_stock(part, &query)
        .await
        .expect("it is done")
}

/// Whether it was refused with a problem that names all of these.
pub(crate) fn refused<T: std::fmt::Debug>(answer: Result<T, Error>, pointer: &str, words: &[&str]) {
    let error = answer.expect_err("a plan with a barred part");
    assert!(error.is(ProblemKind::Invalid), "{error:?}");
    let problem = error.problem().expect("a problem");
    let told = problem.violations.iter().find(|it| it.pointer == pointer);
    let told = told.unwrap_or_else(|| panic!("no {pointer}: {problem:?}"));
    for word in words {
        assert!(told.detail.contains(word), "no {word}: {}", told.detail);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receipt_of_a_barred_class_is_recorded_on_hold_with_the_way_out() {
    let server = both().await;
    let told = receive(&server, THORIATED, 10).await;
    assert_eq!(
        told.says,
        "10 WTh20-2.4 held: not permitted at Tarnbridge. Return to supplier or move to a site \
         that permits it. Use instead: WLa20-2.4, 14 available."
    );
    assert_eq!((told.stock[0].on_hand, told.stock[0].available), (10, 0));
    assert_eq!(told.cautions[0], THORIATED_CAUTION);
    let stock = at_school(&server, THORIATED).await;
    assert_eq!((stock.on_hand, stock.on_hold, stock.available), (10, 10, 0));
    assert_eq!(stock.state.as_deref(), Some("not permitted here"));
    assert_eq!(
        stock.held_because.as_deref(),
        Some("not permitted at Tarnbridge")
    );
    // At home nothing bars it.
    let home = server.stock(THORIATED).await;
    assert_eq!((home.on_hand, home.available), (7, 7));
    assert_eq!((home.state, home.held_because), (None, None));
}

#[tokio::test(flavor = "multi_thread")]
async fn where_nothing_permitted_is_there_nothing_is_named_instead() {
    let server = both().await;
    server.part(of_class("WTh20-3.2", "WTh20")).await;
    let issue = NewMovement {
        part: LANTHANATED.to_owned(),
        kind: "issue".to_owned(),
        quantity: 14,
        site: Some(SCHOOL.to_owned()),
        ..NewMovement::default()
    };
    server.owner.record_movement(&issue, "all").await.unwrap();
    let told = receive(&server, THORIATED, 10).await;
    assert_eq!(
        told.says,
        "10 WTh20-2.4 held: not permitted at Tarnbridge. Return to supplier or move to a site \
         that permits it."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_class_that_nobody_knows_is_held_like_a_barred_one() {
    let server = both().await;
    for (code, class) in [("loose", "unidentified"), ("general", "WG")] {
        server.part(of_class(code, class)).await;
        let told = receive(&server, code, 3).await;
        let held = format!("3 {code} held: of unknown class, not permitted at Tarnbridge.");
        assert!(told.says.starts_with(&held), "{}", told.says);
        assert_eq!(told.cautions[0], Hazard::Unidentified.text());
        assert_eq!(at_school(&server, code).await.available, 0);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_rule_holds_from_the_moment_it_stands_and_lifting_it_frees_everything() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    let hold = NewMovement {
        part: THORIATED.to_owned(),
        kind: "hold".to_owned(),
        quantity: 3,
        site: Some(SCHOOL.to_owned()),
        ..NewMovement::default()
    };
    server.owner.record_movement(&hold, "hold").await.unwrap();
    let rows = server.rows().await;
    let free = NewSite {
        barred: Vec::new(),
        ..school()
    };
    let lifted = server.owner.replace_site(SCHOOL, &free, 1).await.unwrap();
    let stock = at_school(&server, THORIATED).await;
    // What was set aside by hand stays set aside.
    assert_eq!((stock.on_hand, stock.on_hold, stock.available), (10, 3, 7));
    assert_eq!(stock.held_because.as_deref(), Some("set aside"));
    let again = server
        .owner
        .replace_site(SCHOOL, &school(), lifted.version)
        .await;
    assert_eq!(again.unwrap().barred, ["thoriated"]);
    assert_eq!(at_school(&server, THORIATED).await.available, 0);
    // The rule is computed: not a row of the ledger came or went with it.
    assert_eq!(server.rows().await, rows);
}

#[tokio::test(flavor = "multi_thread")]
async fn barred_goods_are_in_no_forecast() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    let query = GetForecasts {
        part: Some(THORIATED.to_owned()),
        arc: Some("10h".to_owned()),
        site: Some(SCHOOL.to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await.unwrap();
    let forecast = &told.forecasts[0];
    assert_eq!(forecast.available, 0);
    let because = "not permitted at Tarnbridge";
    assert_eq!(forecast.held_because.as_deref(), Some(because));
    assert!(forecast.says.contains(because), "{}", forecast.says);
}

fn ground(part: &str) -> NewUsage {
    NewUsage {
        torch: Some("station-3".to_owned()),
        what: Some("ground".to_owned()),
        part: Some(part.to_owned()),
        ..NewUsage::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_grind_of_a_barred_electrode_is_recorded_with_the_caution_and_who_is_told() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    let told = server.owner.record_usage(&ground(THORIATED), "grind").await;
    let told = told.unwrap();
    assert_eq!(
        told.says,
        "station-3: 1 grind. WTh20-2.4: 10 left. WTh20-2.4 is not permitted at Tarnbridge. Told: \
         instructor (question 1)."
    );
    assert_eq!(told.cautions[0], Hazard::Grinding.text());
    assert_eq!(told.cautions[1], THORIATED_CAUTION);
    let taken = NewUsage {
        what: Some("took".to_owned()),
        ..ground(THORIATED)
    };
    let told = server.owner.record_usage(&taken, "take").await.unwrap();
    assert!(
        told.says.ends_with("Told: instructor (question 1)."),
        "{}",
        told.says
    );
    assert_eq!(told.questions, [1]);
    assert_eq!(at_school(&server, THORIATED).await.on_hand, 9);
    // What is permitted is nobody's concern, and neither is putting a barred one back.
    let permitted = server.owner.record_usage(&ground(LANTHANATED), "own").await;
    assert!(!permitted.unwrap().says.contains("Told"));
    let back = NewUsage {
        what: Some("put-back".to_owned()),
        ..ground(THORIATED)
    };
    let told = server.owner.record_usage(&back, "back").await.unwrap();
    assert!(!told.says.contains("Told"), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_person_responsible_is_asked_once_until_it_was_seen() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    for key in ["one", "two"] {
        let grind = NewUsage {
            by: Some("helper".to_owned()),
            ..ground(THORIATED)
        };
        let told = server.owner.record_usage(&grind, key).await.unwrap();
        assert_eq!(told.questions, [1], "{key}");
    }
    let open = ListQuestions {
        state: Some("open".to_owned()),
        site: Some(SCHOOL.to_owned()),
        ..ListQuestions::default()
    };
    let asked = server.owner.list_questions(&open).await.unwrap().questions;
    let [question] = &asked[..] else {
        panic!("one question: {asked:?}")
    };
    assert_eq!(question.kind, "barred-use");
    assert_eq!(question.part.as_deref(), Some(THORIATED));
    assert_eq!(
        question.says,
        "WTh20-2.4 is not permitted at Tarnbridge, and was used: ground, 1 grind by helper, 15 Jun \
         2026 09:00. For: instructor. Seen?"
    );
    let seen = NewAnswer {
        answer: "seen".to_owned(),
        by: Some("instructor".to_owned()),
        ..NewAnswer::default()
    };
    server
        .owner
        .answer_question(1, &seen, "seen")
        .await
        .unwrap();
    let left = server.owner.list_questions(&open).await.unwrap().questions;
    assert!(left.is_empty(), "{left:?}");
    let again = server.owner.record_usage(&ground(THORIATED), "three").await;
    assert_eq!(again.unwrap().questions, [2]);
}

async fn undo(server: &TestServer, entry: uuid::Uuid) {
    let undo = NewReversal { entry, why: None };
    let key = format!("undo-{entry}");
    let back = server.owner.record_reversal(&undo, &key).await;
    back.expect("it is taken back");
}

#[tokio::test(flavor = "multi_thread")]
async fn nobody_is_asked_about_barred_use_that_was_taken_back() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    let mut entries = Vec::new();
    for by in ["helper", "owner"] {
        let grind = NewUsage {
            by: Some(by.to_owned()),
            ..ground(THORIATED)
        };
        let told = server.owner.record_usage(&grind, by).await.unwrap();
        assert_eq!(told.questions, [1]);
        entries.push(told.entry);
    }
    // The first is taken back: the question is about the other one, and says so.
    undo(&server, entries[0]).await;
    let question = server.owner.get_question(1).await.unwrap();
    assert_eq!(question.state, "open");
    assert_eq!(
        question.says,
        "WTh20-2.4 is not permitted at Tarnbridge, and was used: ground, 1 grind by owner, 15 Jun \
         2026 09:00. For: instructor. Seen?"
    );
    undo(&server, entries[1]).await;
    let question = server.owner.get_question(1).await.unwrap();
    let outcome = format!("entry {} was taken back", entries[1]);
    assert_eq!(
        (question.state.as_str(), question.outcome),
        ("closed", Some(outcome))
    );
    // What is used after that is asked about anew.
    let again = server.owner.record_usage(&ground(THORIATED), "three").await;
    assert_eq!(again.unwrap().questions, [2]);
}

#[tokio::test(flavor = "multi_thread")]
async fn barred_use_of_one_batch_is_asked_about_until_all_of_it_is_taken_back() {
    let server = both().await;
    receive(&server, THORIATED, 10).await;
    let entries = ["a", "b"].map(|id| NewUsage {
        id: Some(id.to_owned()),
        ..ground(THORIATED)
    });
    let batch = NewUsageBatch {
        entries: entries.to_vec(),
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await.unwrap();
    let told: Vec<_> = told
        .entries
        .into_iter()
        .map(|one| one.recorded.expect("recorded"))
        .collect();
    for (entry, state) in [(told[0].entry, "open"), (told[1].entry, "closed")] {
        undo(&server, entry).await;
        assert_eq!(server.owner.get_question(1).await.unwrap().state, state);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn taking_a_barred_stub_from_the_jar_is_recorded_and_asked_about() {
    let server = both().await;
    let stub = NewStub {
        class: "unidentified".to_owned(),
        diameter: "2.4 mm".to_owned(),
        quantity: Some(2),
        site: Some(SCHOOL.to_owned()),
        ..NewStub::default()
    };
    let added = server.owner.record_stubs(&stub, "add").await.unwrap();
    assert_eq!(added.questions, [0_i64; 0]);
    let take = NewStub {
        what: Some("take".to_owned()),
        quantity: Some(1),
        ..stub
    };
    let told = server.owner.record_stubs(&take, "take").await.unwrap();
    assert_eq!(
        told.says,
        "1 stub of unidentified 2.4 mm, taken from the jar. 1 of them in the jar. Held: of unknown \
         class, not permitted at Tarnbridge. A stub of unidentified 2.4 mm is of unknown class, not \
         permitted at Tarnbridge. Told: instructor (question 1)."
    );
}

/// Grinds on record of a part at the school.
async fn grinds(server: &TestServer, part: &str) -> f64 {
    let query = GetForecasts {
        part: Some(part.to_owned()),
        grinds: Some(10),
        site: Some(SCHOOL.to_owned()),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let mut told = server
        .owner
        .get_forecasts(&query)
        .await
        .expect("it is done");
    told.forecasts.remove(0).explain.expect("asked for").over
}

#[tokio::test(flavor = "multi_thread")]
async fn grinds_of_an_electrode_that_is_not_fitted_wear_that_one_alone() {
    let server = both().await;
    let three = NewUsage {
        qty: Some(3),
        ..ground(THORIATED)
    };
    let entry = server.owner.record_usage(&three, "three").await.unwrap();
    let own = server.owner.record_usage(&ground(LANTHANATED), "one").await;
    own.unwrap();
    let both = [
        grinds(&server, THORIATED).await,
        grinds(&server, LANTHANATED).await,
    ];
    assert!((both[0] - 3.0).abs() < 1e-9 && (both[1] - 1.0).abs() < 1e-9);
    let found = server::service::rebuild::rebuild(&server.context).await;
    let found = found.unwrap();
    assert_eq!((found.levels_wrong, found.wear_wrong), (0, 0));
    let undo = NewReversal {
        entry: entry.entry,
        why: None,
    };
    server.owner.record_reversal(&undo, "undo").await.unwrap();
    let found = server::service::rebuild::rebuild(&server.context).await;
    let found = found.unwrap();
    assert_eq!((found.levels_wrong, found.wear_wrong), (0, 0));
    let one = grinds(&server, LANTHANATED).await;
    assert!((one - 1.0).abs() < 1e-9, "{one}");
}

async fn offered(server: &TestServer) {
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    server
        .owner
        .create_supplier(&supplier)
        .await
        .expect("it is done");
    for part in [THORIATED, LANTHANATED] {
        let offer = NewOffer {
            supplier: "quayhead".to_owned(),
            part: part.to_owned(),
            pack_size: 10,
            price_minor: 4_200,
            ..NewOffer::default()
        };
        server.owner.create_offer(&offer).await.expect("it is done");
    }
}

fn order(part: &str, site: &str) -> NewOrder {
    NewOrder {
        supplier: "quayhead".to_owned(),
        site: Some(site.to_owned()),
        lines: vec![NewOrderLine {
            part: part.to_owned(),
            pack_size: 10,
            packs: 1,
        }],
        ..NewOrder::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_or_an_issue_of_a_barred_part_is_refused_and_leaves_nothing() {
    let server = both().await;
    offered(&server).await;
    receive(&server, THORIATED, 10).await;
    let rows = server.rows().await;
    let named = [
        THORIATED,
        "not permitted at Tarnbridge",
        "thoriated",
        "permits it",
    ];
    let made = server
        .owner
        .create_order(&order(THORIATED, SCHOOL), "o")
        .await;
    refused(made, "/lines/0/part", &named);
    let issue = NewMovement {
        part: THORIATED.to_owned(),
        kind: "issue".to_owned(),
        quantity: 1,
        site: Some(SCHOOL.to_owned()),
        ..NewMovement::default()
    };
    let issued = server.owner.record_movement(&issue, "i").await;
    refused(issued, "/part", &named);
    let orders = server.owner.list_orders(&types::Page::default()).await;
    assert!(orders.unwrap().orders.is_empty());
    assert_eq!(server.rows().await, rows);
    // For the home shop it can be ordered, and at home it can be issued.
    let home = server
        .owner
        .create_order(&order(THORIATED, "shop"), "home")
        .await;
    assert_eq!(home.unwrap().state, "draft");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_from_before_the_rule_cannot_be_placed() {
    let server = both().await;
    offered(&server).await;
    let free = NewSite {
        barred: Vec::new(),
        ..school()
    };
    let lifted = server.owner.replace_site(SCHOOL, &free, 1).await.unwrap();
    let draft = server
        .owner
        .create_order(&order(THORIATED, SCHOOL), "o")
        .await;
    let draft = draft.unwrap();
    let again = server
        .owner
        .replace_site(SCHOOL, &school(), lifted.version)
        .await;
    again.unwrap();
    let placed = server.owner.place_order(draft.number).await;
    refused(placed, "/lines/0/part", &[THORIATED, "Tarnbridge"]);
    assert_eq!(at_school(&server, THORIATED).await.on_order, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_never_counts_on_a_barred_part_and_never_buys_it() {
    let server = both().await;
    offered(&server).await;
    receive(&server, THORIATED, 10).await;
    let kit = NewKit {
        code: "K-th".to_owned(),
        name: None,
        parts: vec![KitLine {
            part: THORIATED.to_owned(),
            quantity: 1,
            ..KitLine::default()
        }],
    };
    server.owner.create_kit(&kit).await.unwrap();
    let job = NewJob {
        code: "R-9".to_owned(),
        kit: Some("K-th".to_owned()),
        site: Some(SCHOOL.to_owned()),
        arc_minutes: Some(34 * 60),
        start: "2026-06-26".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.unwrap();
    let needs = server
        .owner
        .get_job_needs("R-9", &GetNeeds::default())
        .await;
    let needs = needs.unwrap();
    let line = &needs.lines[0];
    assert_eq!((line.available, line.on_order, line.after), (0, 0, 0));
    assert!(line.short > 0 && line.order.is_none(), "{line:?}");
    assert_eq!(
        line.held_because.as_deref(),
        Some("not permitted at Tarnbridge")
    );
    assert!(needs.orders.is_empty() && needs.next_best.is_none());
    assert!((needs.chance_now - needs.chance_after).abs() < 1e-12);
    assert!(needs.says.contains(
        &"WTh20-2.4 is not permitted at Tarnbridge. Next: plan the job with a permitted class, or \
          at a site that permits it."
            .to_owned()
    ));
    let drafted = server
        .owner
        .draft_job_orders("R-9", &DraftOrders::default(), "draft")
        .await;
    assert!(drafted.unwrap().orders.is_empty());
}
