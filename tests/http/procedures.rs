//! Procedures, their revisions and what is signed for them: immutable, refused where they permit
//! nothing, and only the owner's.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::procedure::{drawer, eq_1, proc_07, requires};
use types::{
    Equivalence, NewEquivalence, NewJob, NewRevision, NewWithdrawal, Page, ProblemKind, Role,
};

#[tokio::test(flavor = "multi_thread")]
async fn a_procedure_is_entered_with_the_revision_in_force_and_read_back_as_written() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    let made = server
        .owner
        .create_procedure(&proc_07())
        .await
        .expect("a procedure");
    assert_eq!((made.newest.revision, &made.revisions[..]), (2, &[2][..]));
    assert_eq!(made.newest.requires, proc_07().requires);
    assert_eq!(
        made.newest.says,
        "PROC-07 rev 2: class WLa20, diameter 2.4 mm, cup no. 7, tip 30 degrees included, no substitution."
    );
    let again = server
        .owner
        .get_procedure("proc-07")
        .await
        .expect("a procedure");
    assert_eq!(again, made);
    let taken = server
        .owner
        .create_procedure(&proc_07())
        .await
        .expect_err("it is there");
    assert!(taken.is(ProblemKind::AlreadyExists), "{taken}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revision_follows_the_newest_and_is_never_changed() {
    let server = drawer().await;
    let next = NewRevision {
        why: Some("smaller".to_owned()),
        requires: requires(&["WLa20"], &["1.6 mm"]),
        ..NewRevision::default()
    };
    let made = server
        .owner
        .create_revision("PROC-07", &next)
        .await
        .expect("a revision");
    assert_eq!(
        (made.revision, made.responsible.as_deref()),
        (3, Some("owner"))
    );
    for number in [0, 2, 3] {
        let old = NewRevision {
            revision: Some(number),
            ..next.clone()
        };
        let error = server.owner.create_revision("PROC-07", &old).await;
        let error = error.expect_err("it is not above the newest");
        let said = &error.problem().expect("a problem").violations[0];
        assert_eq!(said.pointer, "/revision");
        assert!(said.detail.contains("give 4"), "{said:?}");
    }
    let second = server
        .owner
        .get_revision("PROC-07", 2)
        .await
        .expect("a revision");
    assert_eq!(second.requires, proc_07().requires);
    let page = server
        .owner
        .list_revisions("PROC-07", &Page::default())
        .await;
    let numbers: Vec<i64> = page
        .expect("a page")
        .revisions
        .iter()
        .map(|it| it.revision)
        .collect();
    assert_eq!(numbers, [2, 3]);
    // There is no way to edit or remove one.
    for method in ["PUT", "PATCH", "DELETE"] {
        for path in [
            "/v1/procedures/PROC-07",
            "/v1/procedures/PROC-07/revisions/2",
        ] {
            let heard = server
                .ask(method, path)
                .if_match(1)
                .json(&json!({}))
                .send()
                .await;
            heard.problem(ProblemKind::MethodNotAllowed);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_procedure_that_permits_nothing_or_means_nothing_is_refused_by_its_field() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    for (requires, pointer, words) in [
        (json!({}), "/requires", "fixes nothing"),
        (json!({"tip_angle": 30}), "/requires", "fixes nothing"),
        (json!({"classes": []}), "/requires/classes", "empty list"),
        (
            json!({"classes": ["WLa20"], "cups": []}),
            "/requires/cups",
            "empty list",
        ),
        (
            json!({"classes": ["blue"]}),
            "/requires/classes/0",
            "a colour is not enough",
        ),
        (
            json!({"classes": ["WLa20", "WG"]}),
            "/requires/classes",
            "grade",
        ),
        (
            json!({"classes": ["unidentified"]}),
            "/requires/classes",
            "by name",
        ),
        (
            json!({"diameters": ["2.4 mm", "2.45"]}),
            "/requires/diameters/1",
            "2.5 mm",
        ),
        (json!({"length": "7"}), "/requires/length", "7 in"),
        (
            json!({"cups": ["11.3 mm"]}),
            "/requires/cups/0",
            "the number of the cup",
        ),
        (
            json!({"arrangements": ["long"]}),
            "/requires/arrangements/0",
            "gas-lens",
        ),
        (json!({"gases": [" "]}), "/requires/gases", "printable"),
        (
            json!({"classes": ["WP"], "tip_angle": 3}),
            "/requires/tip_angle",
            "10 to 180",
        ),
    ] {
        let body = json!({"code": "P", "requires": requires});
        let heard = server
            .ask("POST", "/v1/procedures")
            .json(&body)
            .send()
            .await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
        assert!(problem.violations[0].detail.contains(words), "{problem:?}");
    }
    let page = server
        .owner
        .list_procedures(&Page::default())
        .await
        .expect("a page");
    assert!(page.procedures.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cup_may_be_given_by_a_bore_that_a_table_prints() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    for (code, bore) in [
        ("A", "11 mm"),
        ("B", "11.1 mm"),
        ("C", "no. 7"),
        ("D", "7/16 in"),
    ] {
        let body = json!({"code": code, "requires": {"cups": [bore]}});
        let heard = server
            .ask("POST", "/v1/procedures")
            .json(&body)
            .send()
            .await;
        assert_eq!(heard.status, 201, "{}", heard.text());
    }
    let cup = json!({
        "code": "cup-7", "kind": "cup", "cup_number": 7, "seat": "standard", "family": "large"
    });
    server.ask("POST", "/v1/parts").json(&cup).send().await;
    for code in ["A", "B", "C", "D"] {
        let path = format!("/v1/procedures/{code}/match?part=cup-7");
        let found: Value = server.ask("GET", &path).send().await.read();
        assert_eq!(found["rows"][0]["verdict"], "matches", "{found}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_record_says_whether_the_signer_had_asked() {
    let server = drawer().await;
    let alone = server.sign_eq_1().await;
    assert!(alone.same_person);
    assert_eq!(
        alone.says,
        "EQ-1: 3/32 in EWLa-2 = 2.4 mm WLa20, signed 12 Feb 2026 by owner, who asked for it."
    );
    let asked = NewEquivalence {
        asked_by: Some("helper".to_owned()),
        signed_at: Some("2026-02-10T09:00:00-04:00".parse().expect("an instant")),
        ..eq_1()
    };
    let two = server
        .owner
        .sign_equivalence("PROC-07", 2, &asked)
        .await
        .expect("a signature");
    assert_eq!(
        (&*two.equivalence, two.same_person, &*two.asked_by),
        ("EQ-2", false, "helper")
    );
    assert_eq!(
        two.says,
        "EQ-2: 3/32 in EWLa-2 = 2.4 mm WLa20, signed 10 Feb 2026 by owner, asked for by helper."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_withdrawn_signature_stays_readable_and_cannot_be_withdrawn_twice() {
    let server = drawer().await;
    server.sign_eq_1().await;
    let gone = NewWithdrawal {
        withdrawn_by: "owner".to_owned(),
        why: None,
    };
    let withdraw = || {
        server
            .owner
            .withdraw_equivalence(("PROC-07", 2), "EQ-1", &gone)
    };
    withdraw().await.expect("it is withdrawn");
    let twice = withdraw().await.expect_err("it is withdrawn already");
    assert!(twice.is(ProblemKind::WrongState), "{twice}");
    let page = server
        .owner
        .list_equivalences("PROC-07", 2, &Page::default())
        .await;
    let [kept]: &[Equivalence] = &page.expect("a page").equivalences else {
        panic!("one signature")
    };
    assert_eq!(kept.marking, "3/32 in EWLa-2");
    assert_eq!(
        kept.withdrawal.as_ref().expect("a withdrawal").withdrawn_by,
        "owner"
    );
    let again = NewEquivalence {
        equivalence: Some("eq-1".to_owned()),
        ..eq_1()
    };
    let taken = server.owner.sign_equivalence("PROC-07", 2, &again).await;
    assert!(
        taken
            .expect_err("the name is used")
            .is(ProblemKind::AlreadyExists)
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_signature_is_refused_by_its_field() {
    let server = drawer().await;
    let path = "/v1/procedures/PROC-07/revisions/2/equivalences";
    let right = json!({
        "marking": "3/32 in EWLa-2", "class": "WLa20", "diameter": "2.4 mm", "signed_by": "owner"
    });
    for (field, value, pointer, words) in [
        ("marking", json!(" "), "/marking", "as printed"),
        ("marking", json!("blue band"), "/marking", "read"),
        ("marking", json!("3/32 in EWCe-2"), "/marking", "WCe20"),
        ("class", json!("WCe20"), "/class", "not on the procedure"),
        ("class", json!("grey"), "/class", "colour"),
        ("diameter", json!("1.6 mm"), "/class", "1.6 is not 2.4"),
        ("diameter", json!("2,4"), "/diameter", "decimal comma"),
        ("grade", json!("tri 9"), "/grade", "leave it out"),
        ("signed_by", json!(""), "/signed_by", "who signs"),
        (
            "signed_at",
            json!("2027-01-01T00:00:00Z"),
            "/signed_at",
            "still to come",
        ),
        ("equivalence", json!("EQ 1"), "/equivalence", "code"),
    ] {
        let mut wrong = right.clone();
        wrong[field] = value;
        let heard = server.ask("POST", path).json(&wrong).send().await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
        assert!(problem.violations[0].detail.contains(words), "{problem:?}");
    }
    for path in [
        "/v1/procedures/none/revisions/2/equivalences",
        "/v1/procedures/PROC-07/revisions/9/equivalences",
        "/v1/procedures/PROC-07/revisions/two/equivalences",
    ] {
        let heard = server.ask("POST", path).json(&right).send().await;
        heard.problem(ProblemKind::NotFound);
    }
    assert_eq!(server.matched("PROC-07", 1).await.state, "needs sign-off");
}

#[tokio::test(flavor = "multi_thread")]
async fn only_the_owner_enters_revises_and_signs() {
    let server = drawer().await;
    for role in [Role::Read, Role::Log, Role::Keep] {
        let client = server.client(role);
        let revised = NewRevision {
            requires: requires(&["WCe20"], &["2.4 mm"]),
            ..NewRevision::default()
        };
        let errors = [
            client.create_procedure(&proc_07()).await.err(),
            client.create_revision("PROC-07", &revised).await.err(),
            client.sign_equivalence("PROC-07", 2, &eq_1()).await.err(),
        ];
        for error in errors {
            assert!(error.expect("it is refused").is(ProblemKind::Forbidden));
        }
        let query = types::GetMatch::default();
        client
            .match_procedure("PROC-07", &query)
            .await
            .expect("everyone may ask");
    }
}

fn job(procedure: &str) -> NewJob {
    NewJob {
        code: "R-118".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        start: "2026-07-01".parse().expect("a day"),
        procedure: Some(procedure.to_owned()),
        ..NewJob::default()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_bound_to_the_newest_revision_of_its_time_and_tells_of_a_newer_one() {
    let server = drawer().await;
    server.torch("T1", &[]).await;
    let made = server
        .owner
        .create_job(&job("proc-07"))
        .await
        .expect("a job");
    assert_eq!(made.procedure.as_deref(), Some("PROC-07 rev 2"));
    assert!(made.locked, "no substitution locks it");
    assert!(made.says.is_empty(), "{made:?}");
    let revised = NewRevision {
        requires: types::ProcedureRequirement {
            substitution: true,
            ..requires(&["WLa20"], &["2.4 mm"])
        },
        ..NewRevision::default()
    };
    server
        .owner
        .create_revision("PROC-07", &revised)
        .await
        .expect("a revision");
    let later = server.owner.get_job("R-118").await.expect("a job");
    let by = later.done_by.as_ref().expect("a procedure");
    assert_eq!((by.revision, by.newest_revision), (2, 3));
    assert_eq!(
        later.says,
        ["PROC-07 has a newer revision, rev 3: the job stays with rev 2 until it is edited."]
    );
    // An edit as it is read keeps the revision; one that names the newer one follows it.
    let kept = later.clone().into_new();
    let kept = server
        .owner
        .replace_job("R-118", &kept, later.version)
        .await
        .expect("a job");
    assert_eq!(kept.done_by.as_ref().expect("a procedure").revision, 2);
    let moved = NewJob {
        locked: false,
        ..job("PROC-07 rev 3")
    };
    let moved = server
        .owner
        .replace_job("R-118", &moved, kept.version)
        .await
        .expect("a job");
    assert!(!moved.locked, "rev 3 allows substitution");
    assert_eq!(moved.done_by.expect("a procedure").revision, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_may_name_a_procedure_that_nobody_entered_and_says_so() {
    let server = drawer().await;
    server.torch("T1", &[]).await;
    let made = server
        .owner
        .create_job(&job("PROC-99 rev 1"))
        .await
        .expect("a job");
    assert_eq!(
        (made.procedure.as_deref(), made.done_by),
        (Some("PROC-99 rev 1"), None)
    );
    assert_eq!(
        made.says,
        [
            "\"PROC-99 rev 1\" is not entered here, so no part is held against it. \
          Next: enter the procedure, or check its name."
        ]
    );
    let entered = types::NewProcedure {
        code: "PROC-99".to_owned(),
        revision: Some(1),
        ..proc_07()
    };
    server
        .owner
        .create_procedure(&entered)
        .await
        .expect("a procedure");
    let later = server.owner.get_job("R-118").await.expect("a job");
    assert!(
        later.says[0].contains("was entered after the job"),
        "{later:?}"
    );
    let missing = NewJob {
        code: "R-119".to_owned(),
        ..job("PROC-07 rev 9")
    };
    let error = server
        .owner
        .create_job(&missing)
        .await
        .expect_err("there is no rev 9");
    let said = &error.problem().expect("a problem").violations[0];
    assert_eq!(said.pointer, "/procedure");
    assert!(said.detail.contains("its newest is rev 2"), "{said:?}");
}
