//! Cautions where they belong, and nowhere else: one row a moment, each with exactly the hazards that
//! its answer must tell. The table is written out here and not taken from the domain.

use std::collections::BTreeSet;

use tigstock_tests::TestServer;
use tigstock_tests::builders::electrode;
use tigstock_tests::front_ends::{LENS, front_end};
use types::{
    FitQuery, GetElectrodeAdvice, GetNeeds, ListStubs, NewFit, NewJob, NewKit, NewMovement,
    NewPart, NewReceipt, NewSite, NewStub, NewTransfer, NewUsage,
};

/// Each hazard by words that only its text has.
const UV: &str = "UV burns eyes and skin";
const LIVE: &str = "Power source off and output dead";
const FORCED: &str = "Do not force it";
const GRINDING: &str = "Eye protection, guards, dust extraction";
const UNKNOWN: &str = "Class unknown: treat as possibly thoriated";
const THORIUM: &str = "slightly radioactive; the concern is grinding dust";
const HOT: &str = "Let the torch cool";
const CYLINDER: &str = "Chain upright, cap on when moving";
const ARGON: &str = "displaces air without warning";
const FUME: &str = "Ventilate or extract; clean coatings";
const ALL: [&str; 10] = [
    UV, LIVE, FORCED, GRINDING, UNKNOWN, THORIUM, HOT, CYLINDER, ARGON, FUME,
];

const CLOSING: &str = "Follow your site rules, the safety data sheet and the law where you work; \
                       ask a qualified person.";

/// A moment, the cautions that its answer told, and those that it must tell.
type Row = (String, Vec<String>, &'static [&'static str]);

/// A shop with a lanthanated electrode on T1, a thoriated one on T2, and a school.
async fn shop() -> TestServer {
    let server = TestServer::at("2026-06-15T08:00:00-03:00").await;
    for code in LENS {
        server.stocked(front_end(code), 9).await;
    }
    for code in ["cup-7", "body-2.4"] {
        server.stocked(front_end(code), 9).await;
    }
    for (code, class) in [("WTh20-2.4", "WTh20"), ("unknown", "unidentified")] {
        let part = NewPart {
            class: Some(class.to_owned()),
            ..electrode(code, "2.4 mm")
        };
        server.stocked(part, 9).await;
    }
    let argon = NewPart {
        code: "argon".to_owned(),
        kind: "shielding-gas".to_owned(),
        composition: Some("argon".to_owned()),
        ..NewPart::default()
    };
    server.stocked(argon, 90_000).await;
    server.torch("T1", &LENS).await;
    server.torch("T2", &["WTh20-2.4", "cup-7"]).await;
    let school = NewSite {
        code: "school".to_owned(),
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    server.owner.create_site(&school).await.expect("a site");
    server.set_clock("2026-06-15T08:01:00-03:00");
    server
}

fn key() -> String {
    uuid::Uuid::now_v7().to_string()
}

/// Use, told as torch, what and part.
async fn used(server: &TestServer) -> Vec<Row> {
    let mut rows = Vec::new();
    for (torch, what, part, must) in [
        ("T1", "took", "WLa20-2.4", &[][..]),
        ("T1", "took", "WTh20-2.4", &[THORIUM]),
        ("T1", "took", "unknown", &[UNKNOWN]),
        ("T1", "took", "cup-7-lens", &[]),
        ("T1", "took", "argon", &[CYLINDER, ARGON]),
        ("T1", "put-back", "WTh20-2.4", &[THORIUM]),
        ("T1", "put-back", "argon", &[]),
        ("T1", "ground", "", &[GRINDING]),
        ("T2", "ground", "", &[GRINDING, THORIUM]),
        ("T1", "ground", "unknown", &[GRINDING, UNKNOWN]),
        ("T1", "broke", "cup-7-lens", &[HOT]),
        ("T1", "broke", "collet-2.4", &[HOT]),
        ("T1", "broke", "body-2.4", &[HOT]),
        ("T1", "broke", "lens-2.4", &[HOT]),
        ("T1", "lost", "cup-7-lens", &[HOT]),
        ("T1", "broke", "cap-long", &[]),
        ("T1", "broke", "o-ring-large", &[]),
        ("T2", "stub", "", &[THORIUM]),
        ("T1", "stub", "", &[]),
        // Arc time alone, on the thoriated one: nothing is in anybody's hands.
        ("T2", "", "", &[]),
    ] {
        let text = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        let usage = NewUsage {
            torch: text(torch),
            what: text(what),
            part: text(part),
            arc_minutes: what.is_empty().then_some(10),
            ..NewUsage::default()
        };
        let told = server.owner.record_usage(&usage, &key()).await;
        let told = told.expect("it is recorded").cautions;
        rows.push((format!("{torch} {what} {part}"), told, must));
    }
    rows
}

/// Goods that come in, movements, and transfers.
async fn moved(server: &TestServer) -> Vec<Row> {
    let mut rows = Vec::new();
    for (part, must) in [
        ("WLa20-2.4", &[][..]),
        ("WTh20-2.4", &[THORIUM]),
        ("unknown", &[UNKNOWN]),
        ("cup-7", &[]),
        ("argon", &[CYLINDER, ARGON]),
    ] {
        let receipt = NewReceipt {
            part: part.to_owned(),
            quantity: 1,
            ..NewReceipt::default()
        };
        let told = server.owner.record_receipt(&receipt, &key()).await;
        let told = told.expect("it is recorded").cautions;
        rows.push((format!("receive {part}"), told, must));
    }
    for (kind, part, must) in [
        ("issue", "WTh20-2.4", &[THORIUM][..]),
        ("issue", "argon", &[CYLINDER, ARGON]),
        ("issue", "cup-7", &[]),
        ("return", "unknown", &[UNKNOWN]),
        ("scrap", "WTh20-2.4", &[THORIUM]),
        ("scrap", "argon", &[]),
        ("hold", "WTh20-2.4", &[]),
    ] {
        let movement = NewMovement {
            part: part.to_owned(),
            kind: kind.to_owned(),
            quantity: 1,
            why: Some("a test".to_owned()),
            ..NewMovement::default()
        };
        let told = server.owner.record_movement(&movement, &key()).await;
        let told = told.expect("it is recorded").cautions;
        rows.push((format!("{kind} {part}"), told, must));
    }
    for (part, must) in [
        ("WLa20-2.4", &[][..]),
        ("WTh20-2.4", &[THORIUM]),
        ("argon", &[CYLINDER]),
    ] {
        let transfer = NewTransfer {
            part: part.to_owned(),
            quantity: 1,
            from: "shop".to_owned(),
            to: "school".to_owned(),
            ..NewTransfer::default()
        };
        let told = server.owner.record_transfer(&transfer, &key()).await;
        let told = told.expect("it is recorded").cautions;
        rows.push((format!("move {part}"), told, must));
    }
    rows
}

/// Stubs into the jar and out of it, and a look into it.
async fn stubs(server: &TestServer) -> Vec<Row> {
    let mut rows = Vec::new();
    for (what, class, must) in [
        ("add", "WLa20", &[][..]),
        ("add", "WTh20", &[THORIUM]),
        ("add", "unidentified", &[UNKNOWN]),
        ("take", "unidentified", &[UNKNOWN]),
        ("add", "WG", &[UNKNOWN]),
        ("scrap", "WG", &[UNKNOWN]),
        ("take", "WLa20", &[]),
    ] {
        let stubs = NewStub {
            what: Some(what.to_owned()),
            class: class.to_owned(),
            diameter: "1.6 mm".to_owned(),
            site: Some("school".to_owned()),
            ..NewStub::default()
        };
        let told = server.owner.record_stubs(&stubs, &key()).await;
        let told = told.expect("it is recorded").cautions;
        rows.push((format!("{what} stub of {class}"), told, must));
    }
    let at_school = ListStubs {
        site: Some("school".to_owned()),
        ..ListStubs::default()
    };
    let jar = server.owner.list_stubs(&at_school).await.expect("a jar");
    rows.push(("the jar with WTh20".to_owned(), jar.cautions, &[THORIUM]));
    rows
}

/// Parts on a torch, kits, and the rule of a site.
async fn set_up(server: &TestServer) -> Vec<Row> {
    let client = &server.owner;
    let mut rows = Vec::new();
    let set_up = client.get_set_up("T1").await.expect("a set-up");
    rows.push(("what is fitted".to_owned(), set_up.cautions, &[LIVE][..]));
    for (part, must) in [
        ("cup-7-lens", &[LIVE][..]),
        ("cup-7", &[LIVE, FORCED]),
        ("WTh20-2.4", &[LIVE, THORIUM]),
    ] {
        let fit = NewFit {
            parts: vec![part.to_owned()],
            ..NewFit::default()
        };
        let query = FitQuery { try_only: Some(1) };
        let told = client.create_fit("T1", &fit, &query).await.expect("a fit");
        rows.push((format!("try {part}"), told.cautions, must));
    }
    for (kit, part, must) in [
        ("K-plain", "WLa20-2.4", &[LIVE][..]),
        ("K-thoriated", "WTh20-2.4", &[LIVE, THORIUM]),
        ("K-unknown", "unknown", &[LIVE, UNKNOWN]),
    ] {
        let new = serde_json::json!({"code": kit, "parts": [{"part": part}]});
        let new: NewKit = serde_json::from_value(new).expect("a kit");
        client.create_kit(&new).await.expect("a kit");
        let told = client.check_kit("T1", kit).await.expect("a check");
        rows.push((format!("kit {kit}"), told.cautions, must));
    }
    for (barred, must) in [
        (&["thoriated"][..], &[THORIUM][..]),
        (&["WTh10"], &[THORIUM]),
        (&["WP"], &[]),
        (&[], &[]),
    ] {
        let site = client.get_site("school").await.expect("a site");
        rows.push(("reading a site".to_owned(), site.cautions.clone(), &[]));
        let version = site.version;
        let new = NewSite {
            barred: barred.iter().map(|word| (*word).to_owned()).collect(),
            ..site.into_new()
        };
        let told = client.replace_site("school", &new, version).await;
        let told = told.expect("a rule").cautions;
        rows.push((format!("bar {barred:?}"), told, must));
    }
    rows
}

/// Plans of jobs by the conditions of their work, and advice on electrodes.
async fn planned(server: &TestServer) -> Vec<Row> {
    let client = &server.owner;
    let mut rows = Vec::new();
    for (code, torch, conditions, must) in [
        ("plain", "T1", "", &[LIVE][..]),
        ("purged", "T1", "purge", &[LIVE, ARGON]),
        ("vessel", "T1", "enclosed", &[LIVE, ARGON]),
        ("galley", "T1", "stainless", &[LIVE, FUME]),
        ("rails", "T1", "Coated", &[LIVE, FUME]),
        ("tank", "T1", "purge stainless purge", &[LIVE, ARGON, FUME]),
        ("old", "T2", "", &[LIVE, THORIUM]),
    ] {
        let words = conditions.split_whitespace().map(str::to_owned);
        let job = NewJob {
            code: code.to_owned(),
            torch: Some(torch.to_owned()),
            arc_minutes: Some(60),
            start: "2026-06-26".parse().expect("a day"),
            conditions: words.collect(),
            ..NewJob::default()
        };
        let made = client.create_job(&job).await.expect("a job");
        let mut once: Vec<String> = Vec::new();
        for word in conditions.to_lowercase().split_whitespace() {
            if !once.iter().any(|one| one == word) {
                once.push(word.to_owned());
            }
        }
        assert_eq!(made.conditions, once, "{code}");
        let needs = client.get_job_needs(code, &GetNeeds::default()).await;
        rows.push((format!("plan {code}"), needs.expect("needs").cautions, must));
    }
    for (class, must) in [
        (None, &[UV, GRINDING][..]),
        (Some("WLa20"), &[UV, GRINDING]),
        (Some("WTh20"), &[UV, GRINDING, THORIUM]),
        (Some("WG"), &[UV, GRINDING, UNKNOWN]),
    ] {
        let query = GetElectrodeAdvice {
            current: Some("120".to_owned()),
            polarity: Some("DCEN".to_owned()),
            class: class.map(str::to_owned),
            ..GetElectrodeAdvice::default()
        };
        let told = client.get_electrode_advice(&query).await.expect("advice");
        rows.push((format!("advice for {class:?}"), told.cautions, must));
    }
    rows
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_tells_the_hazards_of_its_moment_and_no_others() {
    let server = shop().await;
    let mut rows = used(&server).await;
    rows.extend(moved(&server).await);
    rows.extend(stubs(&server).await);
    rows.extend(set_up(&server).await);
    rows.extend(planned(&server).await);
    let mut seen = BTreeSet::new();
    for (moment, told, must) in rows {
        let closing = usize::from(!must.is_empty());
        assert_eq!(told.len(), must.len() + closing, "{moment}: {told:?}");
        for (text, words) in told.iter().zip(must) {
            assert!(text.contains(words), "{moment}: no {words:?} in {told:?}");
            seen.insert(*words);
        }
        if let Some(last) = told.last() {
            assert_eq!(last, CLOSING, "{moment}");
        }
    }
    assert_eq!(seen, BTreeSet::from(ALL), "a hazard that no row tells");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cautions_are_there_as_data() {
    let server = TestServer::start().await;
    let client = server.client(types::Role::Read);
    let list = client.list_cautions().await.expect("the cautions");
    assert_eq!(list.closing, CLOSING);
    assert_eq!(list.cautions.len(), ALL.len());
    for words in ALL {
        let found: Vec<_> = list
            .cautions
            .iter()
            .filter(|caution| caution.text.contains(words))
            .collect();
        assert_eq!(found.len(), 1, "{words}");
        assert!(!found[0].shown.is_empty(), "{words}");
    }
    let argon = list.cautions.iter().find(|it| it.hazard == "argon");
    let plan = argon.expect("argon").shown.iter();
    let mut plan = plan.filter(|shown| shown.moments.iter().any(|it| it == "job-plan"));
    let about = plan.next().and_then(|shown| shown.about.clone());
    assert_eq!(about.as_deref(), Some("work told as purge or enclosed"));
    // Hazards of answers that do not exist yet are listed too.
    let sheet = list.cautions.iter().filter(|caution| {
        let mut moments = caution.shown.iter().flat_map(|shown| &shown.moments);
        moments.any(|moment| moment == "station-sheet")
    });
    let hazards: Vec<&str> = sheet.map(|caution| &*caution.hazard).collect();
    assert_eq!(hazards, ["arc-radiation"]);
}
