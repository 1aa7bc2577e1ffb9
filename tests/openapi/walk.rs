//! Every operation is called by the client against a real server, and every answer on the wire is
//! what the contract tells: a status it names, in its media type, with a body of its schema.

use std::collections::BTreeSet;

use client::Client;
use serde_json::Value;
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode, torch};
use tigstock_tests::door::{Door, Exchange};
use tigstock_tests::procedure::{eq_1, proc_07, requires};
use types::page::Page;
use types::{
    ArrivedLine, AtSite, DraftJobOrders, FitQuery, GetCountList, GetElectrodeAdvice, GetForecasts,
    GetForecastsAhead, GetKitCount, GetMatch, GetNeeds, GetStock, GetTrace, GetTrackRecord,
    KitLine, ListAllocations, ListBorrowings, ListCounts, ListDrawers, ListLulls, ListMovements,
    ListPhotos, ListQuestions, ListStock, ListStubs, ListUsage, NewAllocation, NewAnswer,
    NewArrival, NewClosing, NewCount, NewCountBatch, NewCourse, NewCurrentBand, NewDrawer, NewFit,
    NewJob, NewKey, NewKit, NewKitCounts, NewLotHold, NewLull, NewMovement, NewOffer, NewOrder,
    NewOrderLine, NewPart, NewPartSeats, NewReceipt, NewReversal, NewRevision, NewSetUp, NewSite,
    NewStub, NewSupplier, NewTransfer, NewUsage, NewUsageBatch, NewWithdrawal, PictureKind, Role,
    StartingAssumption, SumUsage, TryFit, WantedKits,
};

use crate::contract::{Operation, operation_of, operations};
use crate::schema::faults;

const NOW: &str = "2026-06-15T08:00:00-03:00";
const ELECTRODE: &str = "WLa20-2.4";
const COLLET: &str = "collet-2.4";

type Done = Result<(), client::Error>;

/// The exchanges of a walk through all operations, in an order in which each finds what it needs.
async fn walked() -> Vec<Exchange> {
    let server = TestServer::at(NOW).await;
    let mut door = Door::shut();
    door.open(&server.url);
    let key = server.key(Role::Own).to_owned();
    let client = Client::new(&door.url, Some(key)).expect("a client");
    walk(&client).await.expect("every call has its answer");
    door.seen()
}

async fn walk(client: &Client) -> Done {
    client.get_health().await?;
    client.get_readiness().await?;
    sites(client).await?;
    lulls(client).await?;
    keys(client).await?;
    parts(client).await?;
    torches(client).await?;
    kits(client).await?;
    client.check_kit("T1", "K-24").await?;
    counts_of_kits(client).await?;
    fits(client).await?;
    seats(client).await?;
    client.list_cautions().await?;
    electrodes(client).await?;
    drawers(client).await?;
    photos(client).await?;
    suppliers(client).await?;
    offers(client).await?;
    procedures(client).await?;
    jobs(client).await?;
    courses(client).await?;
    ledger(client).await?;
    transfer(client).await?;
    stubs(client).await?;
    stock(client).await?;
    matches(client).await?;
    orders(client).await?;
    closings(client).await
}

async fn sites(client: &Client) -> Done {
    let new = NewSite {
        code: "school".to_owned(),
        name: None,
        zone: "America/Halifax".to_owned(),
        ..NewSite::default()
    };
    let made = client.create_site(&new).await?;
    let named = NewSite {
        name: Some("Tarnbridge Community Welding School".to_owned()),
        barred: vec!["thoriated".to_owned()],
        responsible: Some("instructor".to_owned()),
        discard_length: Some("35 mm".to_owned()),
        ..new
    };
    client.replace_site("school", &named, made.version).await?;
    client.get_site("school").await?;
    client.list_sites(&Page::default()).await?;
    Ok(())
}

async fn lulls(client: &Client) -> Done {
    let day = |day| chrono::NaiveDate::from_ymd_opt(2026, 12, day).unwrap_or_default();
    let mut new = NewLull {
        site: Some("school".to_owned()),
        first: day(21),
        last: day(31),
        share: 0.0,
        note: None,
    };
    let made = client.create_lull(&new).await?;
    new.note = Some("shut over the holidays".to_owned());
    let made = client.replace_lull(made.id, &new, made.version).await?;
    client.get_lull(made.id).await?;
    let query = ListLulls {
        site: new.site,
        ..ListLulls::default()
    };
    client.list_lulls(&query).await?;
    client.delete_lull(made.id, made.version).await
}

async fn keys(client: &Client) -> Done {
    let new = NewKey {
        name: "phone at the bench".to_owned(),
        role: Role::Log,
    };
    let made = client.create_key(&new).await?;
    client.list_keys(&Page::default()).await?;
    client.revoke_key(made.key.id).await?;
    client.list_keys(&Page::default()).await?;
    Ok(())
}

async fn parts(client: &Client) -> Done {
    let mut new = electrode(ELECTRODE, "2.4 mm");
    let made = client.create_part(&new).await?;
    new.starting_assumptions = vec![StartingAssumption {
        per: "arc-hour".to_owned(),
        shape: 2.0,
        rate: 20.0,
    }];
    client.replace_part(ELECTRODE, &new, made.version).await?;
    client.create_part(&collet(COLLET)).await?;
    let wrong = client.create_part(&electrode("typo", "1.6 mm")).await?;
    client.delete_part("typo", wrong.version).await?;
    client.get_part(ELECTRODE).await?;
    client.list_parts(&Page::default()).await?;
    Ok(())
}

async fn torches(client: &Client) -> Done {
    let made = client.create_torch(&torch("T1")).await?;
    let mut named = torch("T1");
    named.name = Some("Large body, air-cooled".to_owned());
    let made = client.replace_torch("T1", &named, made.version).await?;
    client.get_set_up("T1").await?;
    let fitted = NewSetUp {
        parts: vec![ELECTRODE.to_owned(), COLLET.to_owned()],
    };
    client.replace_set_up("T1", &fitted, made.version).await?;
    client.get_set_up("T1").await?;
    client.get_torch("T1").await?;
    client.list_torches(&Page::default()).await?;
    Ok(())
}

async fn kits(client: &Client) -> Done {
    let line = |part: &str| KitLine {
        part: part.to_owned(),
        quantity: 1,
        ..KitLine::default()
    };
    let mut new = NewKit {
        code: "K-24".to_owned(),
        name: None,
        parts: vec![line(ELECTRODE)],
    };
    let made = client.create_kit(&new).await?;
    new.parts.push(line(COLLET));
    client.replace_kit("K-24", &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_kit(&NewKit { code, ..new }).await?;
    client.delete_kit("typo", wrong.version).await?;
    client.get_kit("K-24").await?;
    client.list_kits(&Page::default()).await?;
    Ok(())
}

async fn counts_of_kits(client: &Client) -> Done {
    for (code, kind, also) in [
        ("cap", "back-cap", "long"),
        ("ring", "o-ring", ""),
        ("cup", "cup", ""),
    ] {
        let part = NewPart {
            code: code.to_owned(),
            kind: kind.to_owned(),
            family: Some("large".to_owned()),
            length: (!also.is_empty()).then(|| also.to_owned()),
            cup_number: (kind == "cup").then_some(7),
            seat: (kind == "cup").then(|| "standard".to_owned()),
            ..NewPart::default()
        };
        client.create_part(&part).await?;
    }
    for kind in ["collet-body", "insulator"] {
        let part = NewPart {
            code: kind.to_owned(),
            kind: kind.to_owned(),
            family: Some("large".to_owned()),
            diameter: (kind == "collet-body").then(|| "2.4 mm".to_owned()),
            ..NewPart::default()
        };
        client.create_part(&part).await?;
    }
    let parts = [
        ELECTRODE,
        COLLET,
        "cap",
        "ring",
        "cup",
        "collet-body",
        "insulator",
    ];
    let whole = NewKit {
        code: "K-whole".to_owned(),
        name: None,
        parts: parts
            .iter()
            .map(|part| KitLine {
                part: (*part).to_owned(),
                quantity: 1,
                ..KitLine::default()
            })
            .collect(),
    };
    client.create_kit(&whole).await?;
    client.count_kit("K-whole", &GetKitCount::default()).await?;
    let together = NewKitCounts {
        kits: vec![WantedKits {
            kit: "K-whole".to_owned(),
            wanted: Some(2),
        }],
        site: None,
        one_more: true,
    };
    client.count_kits(&together).await?;
    client.check_kit_sheet("T1", "K-whole").await?;
    client
        .count_kit_sheet("K-whole", &GetKitCount::default())
        .await?;
    let query = TryFit {
        parts: "cup".to_owned(),
        ..TryFit::default()
    };
    client.try_fit_sheet("T1", &query).await?;
    Ok(())
}

async fn fits(client: &Client) -> Done {
    let mut new = NewFit {
        parts: vec!["cap".to_owned()],
        ..NewFit::default()
    };
    let only_try = FitQuery { try_only: Some(1) };
    client.create_fit("T1", &new, &only_try).await?;
    client.create_fit("T1", &new, &FitQuery::default()).await?;
    client.create_torch(&torch("T4")).await?;
    new.from = Some("T1".to_owned());
    client.create_fit("T4", &new, &FitQuery::default()).await?;
    client.list_borrowings(&ListBorrowings::default()).await?;
    new.from = Some("T4".to_owned());
    client.create_fit("T1", &new, &FitQuery::default()).await?;
    Ok(())
}

async fn seats(client: &Client) -> Done {
    let new = NewPartSeats {
        code: "our-cup".to_owned(),
        part: Some("cup".to_owned()),
        takes: Some("cup: large standard".to_owned()),
        ..NewPartSeats::default()
    };
    let made = client.create_seats(&new).await?;
    let checked = NewPartSeats {
        checked: true,
        ..new
    };
    let made = client
        .replace_seats("our-cup", &checked, made.version)
        .await?;
    client.get_seats("our-cup").await?;
    client.list_seats(&Page::default()).await?;
    client.delete_seats("our-cup", made.version).await
}

async fn electrodes(client: &Client) -> Done {
    let mut new = NewCurrentBand {
        diameter: "2.4 mm".to_owned(),
        polarity: "AC".to_owned(),
        wave: Some("balanced".to_owned()),
        amps_min: 60,
        amps_max: 150,
        source: "own trials, invented".to_owned(),
        ..NewCurrentBand::default()
    };
    let made = client.create_current_band(&new).await?;
    new.class = Some("WLa20".to_owned());
    let made = client
        .replace_current_band(made.id, &new, made.version)
        .await?;
    client.get_current_band(made.id).await?;
    client.list_current_bands(&Page::default()).await?;
    let query = GetElectrodeAdvice {
        current: Some("120".to_owned()),
        polarity: Some("AC".to_owned()),
        class: Some("WLa20".to_owned()),
        ..GetElectrodeAdvice::default()
    };
    client.get_electrode_advice(&query).await?;
    client.get_electrode_advice_sheet(&query).await?;
    client.delete_current_band(made.id, made.version).await
}

async fn drawers(client: &Client) -> Done {
    let at = AtSite::default();
    let mut new = NewDrawer {
        code: "14".to_owned(),
        name: None,
        site: None,
        parts: vec![COLLET.to_owned()],
    };
    let made = client.create_drawer(&new).await?;
    new.parts.push(ELECTRODE.to_owned());
    client.replace_drawer("14", &at, &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_drawer(&NewDrawer { code, ..new }).await?;
    client.delete_drawer("typo", &at, wrong.version).await?;
    client.get_drawer("14", &at).await?;
    client.list_drawers(&ListDrawers::default()).await?;
    Ok(())
}

async fn photos(client: &Client) -> Done {
    let at = AtSite::default();
    // The signature of a PNG is all that is looked at.
    let picture = b"\x89PNG\r\n\x1a\n".to_vec();
    for _ in 0..2 {
        let picture = picture.clone();
        client
            .create_photo("14", &at, PictureKind::Png, picture)
            .await?;
    }
    let page = client.list_photos("14", &ListPhotos::default()).await?;
    let photo = page.photos.first().expect("a photo").id;
    assert_eq!(client.get_photo("14", photo, &at).await?, picture);
    client.delete_photo("14", photo, &at).await
}

async fn suppliers(client: &Client) -> Done {
    let mut new = NewSupplier {
        code: "quayhead".to_owned(),
        name: None,
        currency: "CAD".to_owned(),
        freight_minor: 0,
        lead_time_days: 1,
        cut_off: None,
        ..NewSupplier::default()
    };
    let made = client.create_supplier(&new).await?;
    new.name = Some("Quayhead, counter".to_owned());
    client
        .replace_supplier("quayhead", &new, made.version)
        .await?;
    client.get_supplier("quayhead").await?;
    client.list_suppliers(&Page::default()).await?;
    Ok(())
}

async fn offers(client: &Client) -> Done {
    let mut new = NewOffer {
        supplier: "quayhead".to_owned(),
        part: ELECTRODE.to_owned(),
        pack_size: 10,
        price_minor: 4_000,
        ..NewOffer::default()
    };
    let made = client.create_offer(&new).await?;
    new.price_minor = 4_200;
    client.replace_offer(made.id, &new, made.version).await?;
    client.get_offer(made.id).await?;
    let part = COLLET.to_owned();
    let other = client.create_offer(&NewOffer { part, ..new }).await?;
    client.delete_offer(other.id, other.version).await?;
    client.list_offers(&Page::default()).await?;
    Ok(())
}

async fn jobs(client: &Client) -> Done {
    let mut new = NewJob {
        code: "R-118".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        start: "2026-06-26".parse().expect("a day"),
        left_out: vec![COLLET.to_owned()],
        ..NewJob::default()
    };
    let made = client.create_job(&new).await?;
    new.arc_minutes = Some(34 * 60);
    client.replace_job("R-118", &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_job(&NewJob { code, ..new }).await?;
    client.delete_job("typo", wrong.version).await?;
    let under = NewJob {
        code: "R-131".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(6_000),
        start: "2026-06-26".parse().expect("a day"),
        procedure: Some("PROC-07".to_owned()),
        ..NewJob::default()
    };
    client.create_job(&under).await?;
    client.get_job("R-118").await?;
    client.list_jobs(&Page::default()).await?;
    Ok(())
}

async fn courses(client: &Client) -> Done {
    let mut new = NewCourse {
        code: "course-0912".to_owned(),
        site: Some("school".to_owned()),
        kit: "K-whole".to_owned(),
        starts: "2026-09-12".parse().expect("a day"),
        heads: 12,
        stations: 6,
        exercises: vec!["beads on steel".to_owned()],
        ..NewCourse::default()
    };
    let made = client.create_course(&new).await?;
    new.days = Some(2);
    client
        .replace_course("course-0912", &new, made.version)
        .await?;
    let code = "typo".to_owned();
    let wrong = client.create_course(&NewCourse { code, ..new }).await?;
    client.delete_course("typo", wrong.version).await?;
    client.get_course("course-0912").await?;
    client.list_courses(&Page::default()).await?;
    let query = GetNeeds::default();
    client.get_course_needs("course-0912", &query).await?;
    client.get_course_stations("course-0912").await?;
    client.get_course_needs_sheet("course-0912", &query).await?;
    client.get_job_needs_sheet("R-118", &query).await?;
    Ok(())
}

async fn procedures(client: &Client) -> Done {
    client.create_procedure(&proc_07()).await?;
    client.get_procedure("PROC-07").await?;
    client.list_procedures(&Page::default()).await?;
    let signed = client.sign_equivalence("PROC-07", 2, &eq_1()).await?;
    let gone = NewWithdrawal {
        withdrawn_by: "owner".to_owned(),
        why: Some("another packet".to_owned()),
    };
    let of = ("PROC-07", 2);
    client
        .withdraw_equivalence(of, &signed.equivalence, &gone)
        .await?;
    client.sign_equivalence("PROC-07", 2, &eq_1()).await?;
    client
        .list_equivalences("PROC-07", 2, &Page::default())
        .await?;
    let revised = NewRevision {
        requires: requires(&["WLa20", "WCe20"], &["2.4 mm"]),
        ..NewRevision::default()
    };
    client.create_revision("PROC-07", &revised).await?;
    client.get_revision("PROC-07", 3).await?;
    client.list_revisions("PROC-07", &Page::default()).await?;
    Ok(())
}

/// What is there when the stock is: matches, and a job under a procedure that is short.
async fn matches(client: &Client) -> Done {
    let query = GetMatch {
        need: Some(8),
        ..GetMatch::default()
    };
    client.match_procedure("PROC-07", &query).await?;
    client.get_procedure_match_sheet("PROC-07", &query).await?;
    client
        .match_procedure("PROC-07", &GetMatch::default())
        .await?;
    client.get_job_needs("R-131", &GetNeeds::default()).await?;
    Ok(())
}

/// A count, and a batch of which one row names a drawer that is not there.
async fn counts(client: &Client) -> Done {
    let count = NewCount {
        part: ELECTRODE.to_owned(),
        counted: 4,
        by: Some("helper".to_owned()),
        ..NewCount::default()
    };
    client.record_count(&count, "count").await?;
    let rows = ["c", "d"].map(|id| NewCount {
        id: Some(id.to_owned()),
        drawer: Some(if id == "c" { "14" } else { "41" }.to_owned()),
        ..count.clone()
    });
    let batch = NewCountBatch {
        counts: rows.to_vec(),
        only_try: true,
    };
    client.record_count_batch(&batch).await?;
    client.get_count_list(&GetCountList::default()).await?;
    client.list_counts(&ListCounts::default()).await?;
    Ok(())
}

async fn ledger(client: &Client) -> Done {
    let receipt = NewReceipt {
        part: ELECTRODE.to_owned(),
        quantity: 5,
        ..NewReceipt::default()
    };
    client.record_receipt(&receipt, "receipt").await?;
    counts(client).await?;
    let usage = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        arc_minutes: Some(75),
        grinds: Some(3),
        ..NewUsage::default()
    };
    let recorded = client.record_usage(&usage, "usage").await?;
    let entries = ["a", "b"].map(|id| NewUsage {
        id: Some(id.to_owned()),
        torch: Some(if id == "a" { "T1" } else { "T9" }.to_owned()),
        ..usage.clone()
    });
    let batch = NewUsageBatch {
        entries: entries.to_vec(),
        history: false,
        ..NewUsageBatch::default()
    };
    client.record_usage_batch(&batch).await?;
    let scrap = NewMovement {
        part: COLLET.to_owned(),
        kind: "scrap".to_owned(),
        quantity: 1,
        why: Some("split".to_owned()),
        ..NewMovement::default()
    };
    client.record_movement(&scrap, "movement").await?;
    let reversal = NewReversal {
        entry: recorded.entry,
        why: Some("the other torch".to_owned()),
    };
    client.record_reversal(&reversal, "reversal").await?;
    client.get_entry(recorded.entry).await?;
    client.list_usage(&ListUsage::default()).await?;
    let sums = SumUsage {
        from: instant_day("2026-06-01"),
        to: instant_day("2026-06-30"),
        ..SumUsage::default()
    };
    client.sum_usage(&sums).await?;
    questions(client).await?;
    lots(client).await?;
    client.list_movements(&ListMovements::default()).await?;
    Ok(())
}

async fn transfer(client: &Client) -> Done {
    let transfer = NewTransfer {
        part: ELECTRODE.to_owned(),
        quantity: 1,
        from: "shop".to_owned(),
        to: "school".to_owned(),
        ..NewTransfer::default()
    };
    client.record_transfer(&transfer, "transfer").await?;
    Ok(())
}

async fn stubs(client: &Client) -> Done {
    let stubs = NewStub {
        class: "unidentified".to_owned(),
        diameter: "2.4 mm".to_owned(),
        length: Some("48 mm".to_owned()),
        site: Some("school".to_owned()),
        ..NewStub::default()
    };
    client.record_stubs(&stubs, "stubs").await?;
    let query = ListStubs {
        site: Some("school".to_owned()),
        ..ListStubs::default()
    };
    client.list_stubs(&query).await?;
    Ok(())
}

/// An entry from long ago is kept aside, asked about, and not recorded.
async fn questions(client: &Client) -> Done {
    let old = NewUsage {
        torch: Some("T1".to_owned()),
        what: Some("took".to_owned()),
        at: Some("2020-01-01T08:00:00Z".parse().expect("an instant")),
        ..NewUsage::default()
    };
    let aside = client.record_usage(&old, "old").await;
    assert!(
        matches!(aside, Err(client::Error::KeptAside(_))),
        "{aside:?}"
    );
    let page = client.list_questions(&ListQuestions::default()).await?;
    let number = page.questions[0].number;
    client.get_question(number).await?;
    let answer = NewAnswer {
        answer: "not-recorded".to_owned(),
        ..NewAnswer::default()
    };
    client.answer_question(number, &answer, "answer").await?;
    Ok(())
}

/// A lot that came in is traced, held and freed, and some of it is promised to a job.
async fn lots(client: &Client) -> Done {
    let receipt = NewReceipt {
        part: COLLET.to_owned(),
        quantity: 5,
        lot: Some("L-1".to_owned()),
        ..NewReceipt::default()
    };
    client.record_receipt(&receipt, "lot").await?;
    client.trace_lot("L-1", &GetTrace::default()).await?;
    let hold = NewLotHold::default();
    client.hold_lot("L-1", &hold, "hold").await?;
    client.release_lot("L-1", &hold, "release").await?;
    let allocation = NewAllocation {
        job: "R-118".to_owned(),
        part: COLLET.to_owned(),
        quantity: 1,
        ..NewAllocation::default()
    };
    client.record_allocation(&allocation, "promise").await?;
    client.list_allocations(&ListAllocations::default()).await?;
    Ok(())
}

fn instant_day(day: &str) -> chrono::NaiveDate {
    day.parse().expect("a day")
}

async fn stock(client: &Client) -> Done {
    client.list_stock(&ListStock::default()).await?;
    client.get_stock(ELECTRODE, &GetStock::default()).await?;
    client
        .explain_stock(ELECTRODE, &GetStock::default())
        .await?;
    let text = |text: &str| Some(text.to_owned());
    let query = GetForecasts {
        part: text(&format!("{ELECTRODE},{COLLET}")),
        arc: text("34h"),
        pace: text("6h"),
        cover_days: Some(14),
        explain: text("1"),
        ..GetForecasts::default()
    };
    client.get_forecasts(&query).await?;
    let query = GetForecastsAhead::default();
    client.get_forecasts_ahead(&query).await?;
    track_record(client).await
}

/// Months from now, so that there is a record of what little was used, and now, when there is none.
async fn track_record(client: &Client) -> Done {
    for now in [None, Some("2027-06-15T08:00:00-03:00".to_owned())] {
        let query = GetTrackRecord {
            part: Some(ELECTRODE.to_owned()),
            explain: Some("1".to_owned()),
            now,
            ..GetTrackRecord::default()
        };
        client.get_track_record(&query).await?;
        client.get_track_record_chart(&query).await?;
        client.get_track_record_sheet(&query).await?;
    }
    Ok(())
}

/// What is done is closed, looked at, and opened again.
async fn closings(client: &Client) -> Done {
    let closing = NewClosing {
        arc_minutes: Some(2_280),
        ..NewClosing::default()
    };
    client.close_job("R-118", &closing, "close-job").await?;
    client.get_job_closing("R-118").await?;
    client.reopen_job("R-118").await?;
    let closing = NewClosing::default();
    client
        .close_course("course-0912", &closing, "close-course")
        .await?;
    client.get_course_closing("course-0912").await?;
    client.reopen_course("course-0912").await?;
    Ok(())
}

async fn orders(client: &Client) -> Done {
    let query = GetNeeds::default();
    client.get_job_needs("R-118", &query).await?;
    let plan = DraftJobOrders::default();
    let drafted = client.draft_job_orders("R-118", &plan, "draft").await?;
    let first = drafted.orders.first().expect("electrodes are short");
    client.place_order(first.number).await?;
    let arrival = NewArrival {
        lines: vec![ArrivedLine {
            part: ELECTRODE.to_owned(),
            quantity: 4,
        }],
        ..NewArrival::default()
    };
    client
        .receive_order(first.number, &arrival, "arrival")
        .await?;
    let new = NewOrder {
        supplier: "quayhead".to_owned(),
        job: None,
        site: None,
        lines: vec![NewOrderLine {
            part: ELECTRODE.to_owned(),
            pack_size: 10,
            packs: 2,
        }],
    };
    let second = client.create_order(&new, "order").await?;
    client.cancel_order(second.number).await?;
    client.get_order(first.number).await?;
    client.list_orders(&Page::default()).await?;
    Ok(())
}

/// Whether a body of that media type can be held against a schema; pictures cannot.
fn is_json(media_type: &str) -> bool {
    media_type == "application/json" || media_type.ends_with("+json")
}

#[tokio::test(flavor = "multi_thread")]
async fn every_operation_is_called_by_the_client() {
    let called: BTreeSet<&str> = walked()
        .await
        .iter()
        .filter(|exchange| (200..300).contains(&exchange.status))
        .filter_map(|it| Some(operation_of(&it.method, &it.path)?.id()))
        .collect();
    let told: BTreeSet<&str> = operations().iter().map(Operation::id).collect();
    assert_eq!(called, told);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_is_as_the_contract_tells() {
    for exchange in walked().await {
        let (method, path) = (&exchange.method, &exchange.path);
        let operation = operation_of(method, path)
            .unwrap_or_else(|| panic!("{method} {path} is not in the contract"));
        let id = operation.id();
        let answer = operation.answers().get(&exchange.status.to_string());
        let answer = answer.unwrap_or_else(|| panic!("{id} does not tell {}", exchange.status));
        let Some(content) = answer["content"].as_object() else {
            assert!(exchange.body.is_empty(), "{id} has a body");
            continue;
        };
        let media_type = exchange.header("content-type").unwrap_or_default();
        let told = content.get(media_type);
        let told = told.unwrap_or_else(|| panic!("{id} does not tell {media_type}"));
        if !is_json(media_type) {
            assert!(!exchange.body.is_empty(), "{id} answers with nothing");
            continue;
        }
        let body: Value = serde_json::from_slice(&exchange.body).expect("JSON");
        let found = faults(&told["schema"], &body);
        assert!(found.is_empty(), "{id}: {found:?} in {body}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_request_of_the_client_is_as_the_contract_tells() {
    for exchange in walked().await {
        let (method, path) = (&exchange.method, &exchange.path);
        let operation = operation_of(method, path)
            .unwrap_or_else(|| panic!("{method} {path} is not in the contract"));
        let id = operation.id();
        let Some(content) = operation.told["requestBody"]["content"].as_object() else {
            assert!(exchange.sent.is_empty(), "{id} has a body");
            continue;
        };
        let Some(told) = content.get("application/json") else {
            assert!(!content.keys().any(|it| is_json(it)), "{id}");
            assert!(!exchange.sent.is_empty(), "{id} is sent nothing");
            continue;
        };
        let schema = &told["schema"];
        let body: Value = serde_json::from_slice(&exchange.sent).expect("JSON");
        let found = faults(schema, &body);
        assert!(found.is_empty(), "{}: {found:?}", operation.id());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_header_of_an_answer_that_is_told_is_there() {
    for exchange in walked().await {
        let Some(operation) = operation_of(&exchange.method, &exchange.path) else {
            continue;
        };
        let headers = &operation.answers()[&exchange.status.to_string()]["headers"];
        for name in headers
            .as_object()
            .into_iter()
            .flatten()
            .map(|(name, _)| name)
        {
            let found = exchange.header(&name.to_lowercase());
            assert!(found.is_some(), "{} without {name}", operation.id());
        }
    }
}
