//! What happens in a shop: entries of the ledger, counts, stubs, lots, questions.

use client::Client;
use types::{
    GetCountList, GetMatch, GetNeeds, GetTrace, ListAllocations, ListCounts, ListMovements,
    ListQuestions, ListStubs, ListUsage, NewAllocation, NewAnswer, NewCount, NewCountBatch,
    NewLotHold, NewMovement, NewReceipt, NewReversal, NewStub, NewTransfer, NewUsage,
    NewUsageBatch, SumUsage,
};

use super::{COLLET, Done, ELECTRODE};

/// What is there when the stock is: matches, and a job under a procedure that is short.
pub(super) async fn matches(client: &Client) -> Done {
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
pub(super) async fn counts(client: &Client) -> Done {
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

pub(super) async fn ledger(client: &Client) -> Done {
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
        from: super::planned::instant_day("2026-06-01"),
        to: super::planned::instant_day("2026-06-30"),
        ..SumUsage::default()
    };
    client.sum_usage(&sums).await?;
    questions(client).await?;
    lots(client).await?;
    client.list_movements(&ListMovements::default()).await?;
    Ok(())
}

pub(super) async fn transfer(client: &Client) -> Done {
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

pub(super) async fn stubs(client: &Client) -> Done {
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
pub(super) async fn questions(client: &Client) -> Done {
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
pub(super) async fn lots(client: &Client) -> Done {
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
