//! Scenario S1: the stock held against a procedure that allows no substitution, with its equivalence
//! signed and not; and that no signature, no setting and no other door makes anything else match.

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::procedure::{
    CERIATED, INCH, LOOSE, THICKER, drawer, eq_1, of_class, proc_07, requires, texts,
};
use types::{
    GetMatch, MatchRow, NewEquivalence, NewJob, NewOffer, NewPart, NewProcedure, NewRevision,
    NewSite, NewStub, NewSupplier, NewUsage, NewWithdrawal, ProblemKind, ProcedureMatch,
    ProcedureRequirement,
};

fn row<'m>(found: &'m ProcedureMatch, part: &str) -> &'m MatchRow {
    let row = found
        .rows
        .iter()
        .find(|row| row.part.as_deref() == Some(part));
    row.unwrap_or_else(|| panic!("a row for {part}: {found:?}"))
}

fn has(found: &ProcedureMatch, sentence: &str) {
    assert!(
        found.says.iter().any(|said| said == sentence),
        "{:#?}",
        found.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn with_eq_1_signed_nine_are_usable_and_the_rest_is_refused_with_reasons() {
    let server = drawer().await;
    server.sign_eq_1().await;
    server.set_clock("2026-06-15T08:00:00-03:00");
    let found = server.matched("PROC-07", 8).await;
    assert_eq!(&*found.state, "matches");
    assert_eq!((found.usable, found.left, found.short), (9, Some(1), 0));
    assert_eq!(
        found.says[..3],
        [
            "PROC-07 rev 2: 9 usable, need 8, 1 left.",
            "Accepted: 9 x 3/32 in EWLa-2, lot L-2231 (EQ-1, signed 12 Feb 2026).",
            "Not usable: 6 x 2.5 mm (different size: 2.5 is not 2.4, and it needs its own collet). \
             12 x WCe20 (class not on the procedure). 4 unidentified (class unknown).",
        ]
    );
    has(&found, "Tip: 30 degrees included.");
    let accepted = row(&found, INCH);
    assert_eq!((&*accepted.verdict, &*accepted.reason), ("matches", ""));
    assert_eq!(
        (accepted.quantity, accepted.available, accepted.usable),
        (9, 9, 9)
    );
    assert_eq!(accepted.equivalence.as_deref(), Some("EQ-1"));
    assert_eq!(
        (&*accepted.lots[0].lot, accepted.lots[0].quantity),
        ("L-2231", 9)
    );
    for (part, reason) in [
        (
            THICKER,
            "different size: 2.5 is not 2.4, and it needs its own collet",
        ),
        (CERIATED, "class not on the procedure"),
        (LOOSE, "class unknown"),
    ] {
        let refused = row(&found, part);
        assert_eq!(
            (&*refused.verdict, &*refused.reason),
            ("does not match", reason)
        );
        assert_eq!(refused.usable, 0);
    }
    // An unidentified electrode may be thoriated, and one of another size is not to be forced.
    assert!(
        found
            .cautions
            .iter()
            .any(|it| it.contains("treat as possibly thoriated"))
    );
    assert!(
        found
            .cautions
            .iter()
            .any(|it| it.contains("Do not force it"))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_signature_it_needs_one_and_none_is_usable() {
    let server = drawer().await;
    let found = server.matched("PROC-07", 8).await;
    assert_eq!(&*found.state, "needs sign-off");
    assert_eq!((found.usable, found.left, found.pending), (0, None, 9));
    has(&found, "PROC-07 rev 2: 0 usable, need 8, 8 short.");
    has(
        &found,
        "9 pieces would match if the person responsible for PROC-07 accepts EQ-1.",
    );
    has(&found, "EQ-1: 3/32 in EWLa-2 = 2.4 mm WLa20.");
    has(
        &found,
        "Next: have EQ-1 signed, or have the procedure revised (rev 3).",
    );
    let [to_sign] = &found.to_sign[..] else {
        panic!("one statement: {found:?}")
    };
    assert_eq!((&*to_sign.equivalence, to_sign.pieces), ("EQ-1", 9));
    assert_eq!(
        row(&found, INCH).reason,
        "not signed: 3/32 in EWLa-2 = 2.4 mm WLa20"
    );
    assert_eq!(row(&found, INCH).usable, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_signature_counts_from_when_it_was_signed_until_it_is_withdrawn() {
    let server = drawer().await;
    server.sign_eq_1().await;
    server.set_clock("2026-06-15T08:00:00-03:00");
    let gone = NewWithdrawal {
        withdrawn_by: "owner".to_owned(),
        why: Some("another packet".to_owned()),
    };
    let gone = server
        .owner
        .withdraw_equivalence(("PROC-07", 2), "eq-1", &gone);
    let gone = gone.await.expect("it is withdrawn");
    assert!(
        gone.says.ends_with("Withdrawn 15 Jun 2026 by owner."),
        "{}",
        gone.says
    );
    assert_eq!(server.matched("PROC-07", 8).await.state, "needs sign-off");
    for (now, state) in [
        ("2026-02-11T08:00:00-04:00", "needs sign-off"),
        ("2026-02-12T09:00:00-04:00", "matches"),
        ("2026-06-15T07:59:00-03:00", "matches"),
        ("2026-06-15T08:00:00-03:00", "needs sign-off"),
    ] {
        let query = GetMatch {
            now: Some(now.to_owned()),
            ..GetMatch::default()
        };
        let found = server.owner.match_procedure("PROC-07", &query).await;
        assert_eq!(found.expect("a match").state, state, "{now}");
    }
    // The name is used up: the next signature for the same statement is EQ-2.
    let found = server.matched("PROC-07", 8).await;
    assert_eq!(found.to_sign[0].equivalence, "EQ-2");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_signature_holds_for_its_own_revision_only() {
    let server = drawer().await;
    server.sign_eq_1().await;
    let revised = NewRevision {
        why: Some("ceriated permitted".to_owned()),
        requires: requires(&["WLa20", "WCe20"], &["2.4 mm"]),
        ..NewRevision::default()
    };
    server.set_clock("2026-03-01T09:00:00-04:00");
    let made = server.owner.create_revision("PROC-07", &revised).await;
    assert_eq!(made.expect("a revision").revision, 3);
    let newest = server.matched("PROC-07", 8).await;
    // The twelve of WCe20 are permitted now; the nine in inches wait for a signature of their own.
    assert_eq!((newest.revision, newest.usable, newest.pending), (3, 12, 9));
    // The same statement keeps its name.
    assert_eq!(newest.to_sign[0].equivalence, "EQ-1");
    let query = GetMatch {
        revision: Some(2),
        ..GetMatch::default()
    };
    let older = server
        .owner
        .match_procedure("PROC-07", &query)
        .await
        .expect("a match");
    assert_eq!(
        (older.revision, older.newest_revision, older.usable),
        (2, 3, 9)
    );
    has(
        &older,
        "PROC-07 rev 2 is not the newest revision: that is rev 3.",
    );
    let query = GetMatch {
        now: Some("2026-02-20T09:00:00-04:00".to_owned()),
        ..GetMatch::default()
    };
    let then = server
        .owner
        .match_procedure("PROC-07", &query)
        .await
        .expect("a match");
    assert_eq!((then.revision, then.newest_revision), (2, 2));
}

#[tokio::test(flavor = "multi_thread")]
async fn labels_of_2_3_and_2_38_are_the_same_name_and_2_45_is_none() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    let entered = server.owner.create_procedure(&proc_07()).await;
    entered.expect("a procedure");
    for (index, size) in ["2.3", "2.38 mm", "2.4", "2.381"].iter().enumerate() {
        server
            .stocked(electrode(&format!("label-{index}"), size), 1)
            .await;
    }
    assert_eq!(server.matched("PROC-07", 4).await.state, "matches");
    let unknown = server.owner.create_part(&electrode("odd", "2.45")).await;
    let unknown = unknown.expect_err("2.45 is no size");
    let said = &unknown.problem().expect("a problem").violations[0];
    assert_eq!(said.pointer, "/diameter");
    assert!(
        said.detail.contains("2.4 mm") && said.detail.contains("2.5 mm"),
        "{said:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn near_sizes_never_match_whatever_is_signed() {
    for (size, near) in [
        ("2.4 mm", "2.5 mm"),
        ("1.6 mm", "1.5 mm"),
        ("3.2 mm", "3.0 mm"),
    ] {
        let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
        let procedure = NewProcedure {
            requires: requires(&["WLa20"], &[size]),
            ..proc_07()
        };
        server
            .owner
            .create_procedure(&procedure)
            .await
            .expect("a procedure");
        server.stocked(electrode("near", near), 5).await;
        // It cannot be signed away, either way round.
        for (diameter, field) in [(near, "/class"), (size, "/marking")] {
            let wrong = NewEquivalence {
                marking: format!("{near} WLa20"),
                diameter: diameter.to_owned(),
                ..eq_1()
            };
            let error = server.owner.sign_equivalence("PROC-07", 2, &wrong).await;
            let error = error.expect_err("it is another size");
            let said = &error.problem().expect("a problem").violations[0];
            assert_eq!(said.pointer, field, "{said:?}");
        }
        let found = server.matched("PROC-07", 1).await;
        assert_eq!((&*found.state, found.usable), ("does not match", 0));
        let near = near.trim_end_matches(" mm");
        let size = size.trim_end_matches(" mm");
        assert!(
            row(&found, "near")
                .reason
                .contains(&format!("{near} is not {size}"))
        );
        has(&found, "Next: have the procedure revised (rev 3).");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_general_class_needs_its_own_grade_and_a_signature() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    let general = NewPart {
        marking: Some("2.4 mm EWG tri 9".to_owned()),
        grade: Some("tri 9, 1.5 % La2O3".to_owned()),
        ..of_class("general", "EWG", "2.4 mm")
    };
    server.stocked(general, 7).await;
    server
        .owner
        .create_procedure(&proc_07())
        .await
        .expect("a procedure");
    let named = server.matched("PROC-07", 1).await;
    assert_eq!((&*named.state, named.usable), ("does not match", 0));
    assert!(row(&named, "general").reason.contains("grade"), "{named:?}");
    let by_grade = NewRevision {
        requires: ProcedureRequirement {
            grades: texts(&["Tri 9, 1.5 % La2O3"]),
            ..proc_07().requires
        },
        ..NewRevision::default()
    };
    server
        .owner
        .create_revision("PROC-07", &by_grade)
        .await
        .expect("a revision");
    let found = server.matched("PROC-07", 1).await;
    assert_eq!(
        (&*found.state, found.usable, found.pending),
        ("needs sign-off", 0, 7)
    );
    let to_sign = found.to_sign[0].clone();
    let signature = NewEquivalence {
        marking: to_sign.marking,
        class: to_sign.class,
        diameter: to_sign.diameter,
        grade: to_sign.grade,
        ..eq_1()
    };
    let signed = server
        .owner
        .sign_equivalence("PROC-07", 3, &signature)
        .await;
    assert_eq!(signed.expect("a signature").equivalence, "EQ-1");
    assert_eq!(server.matched("PROC-07", 7).await.state, "matches");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_named_in_inches_without_a_marking_is_taken_to_be_marked_so() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    server
        .owner
        .create_procedure(&proc_07())
        .await
        .expect("a procedure");
    server
        .stocked(of_class("inch", "EWLa-2", "3/32 in"), 3)
        .await;
    let part = server.owner.get_part("inch").await.expect("a part");
    assert_eq!(part.marking.as_deref(), Some("3/32 in EWLa-2"));
    assert_eq!(server.matched("PROC-07", 1).await.state, "needs sign-off");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_site_bars_is_never_usable_there() {
    let server = TestServer::at("2026-02-01T08:00:00-04:00").await;
    let thoriated = NewProcedure {
        code: "PROC-09".to_owned(),
        requires: requires(&["WTh20"], &["2.4 mm"]),
        ..NewProcedure::default()
    };
    server
        .owner
        .create_procedure(&thoriated)
        .await
        .expect("a procedure");
    server
        .stocked(of_class("WTh20-2.4", "WTh20", "2.4 mm"), 5)
        .await;
    assert_eq!(server.matched("PROC-09", 5).await.state, "matches");
    let site = server.owner.get_site("shop").await.expect("a site");
    let version = site.version;
    let barred = NewSite {
        name: Some("Tarnbridge".to_owned()),
        barred: vec!["thoriated".to_owned()],
        ..site.into_new()
    };
    server
        .owner
        .replace_site("shop", &barred, version)
        .await
        .expect("a rule");
    let found = server.matched("PROC-09", 5).await;
    assert_eq!(
        (&*found.state, found.usable, found.pending),
        ("does not match", 0, 0)
    );
    let refused = row(&found, "WTh20-2.4");
    assert_eq!((&*refused.verdict, refused.usable), ("does not match", 0));
    assert_eq!(refused.reason, "not permitted at Tarnbridge");
    has(
        &found,
        "Not usable: 5 x 2.4 mm WTh20 (not permitted at Tarnbridge).",
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn stubs_are_accepted_only_with_class_and_lot_and_counted_apart() {
    let server = drawer().await;
    server.sign_eq_1().await;
    for (class, lot, quantity) in [
        ("WLa20", Some("L-2231"), 3),
        ("WLa20", None, 2),
        ("unidentified", Some("L-2231"), 1),
    ] {
        let stubs = NewStub {
            class: class.to_owned(),
            diameter: "2.4 mm".to_owned(),
            length: Some("48 mm".to_owned()),
            quantity: Some(quantity),
            lot: lot.map(str::to_owned),
            ..NewStub::default()
        };
        let key = format!("{class}-{quantity}");
        server
            .owner
            .record_stubs(&stubs, &key)
            .await
            .expect("stubs");
    }
    let found = server.matched("PROC-07", 8).await;
    // Still nine: a stub never passes for a full rod.
    assert_eq!(found.usable, 9);
    let stubs: Vec<_> = found.rows.iter().filter(|row| row.stub).collect();
    let told = |row: &MatchRow| {
        (
            row.quantity,
            row.usable,
            row.verdict.clone(),
            row.reason.clone(),
        )
    };
    let told: Vec<_> = stubs.iter().map(|row| told(row)).collect();
    let word = |text: &str| text.to_owned();
    assert!(
        told.contains(&(3, 3, word("matches"), word(""))),
        "{told:?}"
    );
    assert!(
        told.contains(&(2, 0, word("does not match"), word("lot unknown"))),
        "{told:?}"
    );
    assert!(
        told.contains(&(1, 0, word("does not match"), word("class unknown"))),
        "{told:?}"
    );
    has(
        &found,
        "In the stub jar, not counted above: 3 x Stub, Electrode WLa20 2.4 mm, 48 mm long, lot L-2231.",
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stub_is_what_the_packet_of_its_lot_says() {
    let server = drawer().await;
    let stubs = NewStub {
        class: "WLa20".to_owned(),
        diameter: "2.4 mm".to_owned(),
        lot: Some("L-2231".to_owned()),
        ..NewStub::default()
    };
    server
        .owner
        .record_stubs(&stubs, "known")
        .await
        .expect("stubs");
    let wrong = NewStub {
        class: "WLa20".to_owned(),
        diameter: "1.6 mm".to_owned(),
        ..stubs
    };
    server
        .owner
        .record_stubs(&wrong, "wrong")
        .await
        .expect("stubs");
    let found = server.matched("PROC-07", 8).await;
    let stubs: Vec<&MatchRow> = found.rows.iter().filter(|row| row.stub).collect();
    // The packet was marked in inches, and nobody signed for that yet.
    let waiting = stubs
        .iter()
        .find(|row| row.name.contains("2.4 mm"))
        .expect("a stub");
    assert_eq!(waiting.verdict, "needs sign-off");
    // No rod of 1.6 mm ever came in under that lot.
    let contradicted = stubs
        .iter()
        .find(|row| row.name.contains("1.6 mm"))
        .expect("a stub");
    assert!(
        contradicted.reason.ends_with("lot unknown"),
        "{contradicted:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_promised_or_held_is_not_usable() {
    let server = drawer().await;
    server.sign_eq_1().await;
    server.torch("T1", &[INCH]).await;
    let job = NewJob {
        code: "R-120".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        start: "2026-07-01".parse().expect("a day"),
        ..NewJob::default()
    };
    server.owner.create_job(&job).await.expect("a job");
    let promise = types::NewAllocation {
        job: "R-120".to_owned(),
        part: INCH.to_owned(),
        quantity: 4,
        ..types::NewAllocation::default()
    };
    server
        .owner
        .record_allocation(&promise, "promise")
        .await
        .expect("a promise");
    let found = server.matched("PROC-07", 8).await;
    assert_eq!(
        (found.usable, found.short, &*found.state),
        (5, 3, "does not match")
    );
    has(
        &found,
        "Accepted: 5 x 3/32 in EWLa-2, lot L-2231 (EQ-1, signed 12 Feb 2026); 4 more are held or promised.",
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_can_be_ordered_is_named_and_a_book_below_zero_is_told() {
    let server = drawer().await;
    server.part(electrode("WLa20-2.4", "2.4 mm")).await;
    let seller = NewSupplier {
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
        .create_supplier(&seller)
        .await
        .expect("a supplier");
    for part in ["WLa20-2.4", CERIATED] {
        let offer = NewOffer {
            supplier: "quayhead".to_owned(),
            part: part.to_owned(),
            pack_size: 10,
            price_minor: 4200,
            ..NewOffer::default()
        };
        server.owner.create_offer(&offer).await.expect("an offer");
    }
    let found = server.matched("PROC-07", 8).await;
    // The ceriated ones are offered as well, and are not permitted.
    assert_eq!(found.to_order, ["WLa20-2.4"]);
    has(
        &found,
        "Next: have EQ-1 signed, or order WLa20-2.4, or have the procedure revised (rev 3).",
    );
    let taken = NewUsage {
        what: Some("took".to_owned()),
        part: Some("WLa20-2.4".to_owned()),
        ..NewUsage::default()
    };
    server
        .owner
        .record_usage(&taken, "below")
        .await
        .expect("it is recorded");
    let found = server.matched("PROC-07", 8).await;
    assert_eq!(found.cannot_tell, ["WLa20-2.4"]);
    assert_eq!(found.usable, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_part_can_be_asked_about_alone_and_a_cup_too() {
    let server = drawer().await;
    let cup = |code: &str, number| NewPart {
        code: code.to_owned(),
        kind: "cup".to_owned(),
        cup_number: Some(number),
        seat: Some("gas-lens".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    };
    server.stocked(cup("cup-7", 7), 2).await;
    server.stocked(cup("cup-8", 8), 3).await;
    let all = server.matched("PROC-07", 8).await;
    assert_eq!(row(&all, "cup-7").verdict, "matches");
    assert_eq!(row(&all, "cup-8").reason, "cup no. 8 is not no. 7");
    // Cups are told beside the electrodes, and not counted among them.
    assert_eq!(all.usable, 0);
    let query = GetMatch {
        part: Some("cup-7".to_owned()),
        need: Some(2),
        ..GetMatch::default()
    };
    let one = server
        .owner
        .match_procedure("PROC-07", &query)
        .await
        .expect("a match");
    assert_eq!((one.rows.len(), one.usable, &*one.state), (1, 2, "matches"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_question_is_told_by_its_field() {
    let server = drawer().await;
    let ask = async |path: &str| server.ask("GET", path).send().await;
    for (query, pointer, words) in [
        ("need=0", "?need", "1 to 1000000"),
        ("need=-3", "?need", "-3"),
        ("part=none", "?part", "there is no part none"),
        ("site=attic", "?site", "there is no site attic"),
        ("now=today", "?now", "RFC 3339"),
    ] {
        let heard = ask(&format!("/v1/procedures/PROC-07/match?{query}")).await;
        let problem = heard.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, pointer, "{problem:?}");
        assert!(problem.violations[0].detail.contains(words), "{problem:?}");
    }
    for path in [
        "/v1/procedures/none/match",
        "/v1/procedures/PROC-07/match?revision=9",
    ] {
        ask(path).await.problem(ProblemKind::NotFound);
    }
    ask("/v1/procedures/PROC-07/match?use_anyway=1")
        .await
        .problem(ProblemKind::MalformedRequest);
}
