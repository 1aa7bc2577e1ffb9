//! A sheet of use: each row an entry, and all of them one batch.

use client::Client;
use types::{NewUsage, NewUsageBatch, UsageOutcome};

use super::cells::{Otherwise, arc, instant, whole};
use super::file::{File, Row};
use super::judged::{Judged, remedy};
use crate::failure::Failure;

/// What a row without an id of its own is known by.
const TOLD: [&str; 10] = [
    "site", "when", "torch", "part", "qty", "arc", "grinds", "job", "what", "by",
];

/// A row as it is sent, with what was guessed; or what became of it without sending.
type Prepared = Result<(NewUsage, String), Judged>;

/// Sends what can be read, and says of each row what became of it.
pub(super) async fn judge(
    client: &Client,
    file: &File,
    otherwise: &Otherwise,
    only_try: bool,
) -> Result<Vec<Judged>, Failure> {
    let prepare = |row| prepare(row, otherwise, file.has_decimal_commas);
    let rows: Vec<Prepared> = file.rows.iter().map(prepare).collect();
    let entries: Vec<NewUsage> = rows
        .iter()
        .flatten()
        .map(|(usage, _)| usage.clone())
        .collect();
    let outcomes = if entries.is_empty() {
        Vec::new()
    } else {
        let batch = NewUsageBatch {
            entries,
            only_try,
            ..NewUsageBatch::default()
        };
        client.record_usage_batch(&batch).await?.entries
    };
    let mut outcomes = outcomes.into_iter();
    let judged = rows
        .into_iter()
        .zip(&file.rows)
        .map(|(prepared, row)| match prepared {
            Err(judged) => judged,
            Ok((usage, note)) => told(row.line, usage, note, outcomes.next()),
        });
    Ok(judged.collect())
}

fn prepare(row: &Row, otherwise: &Otherwise, has_decimal_commas: bool) -> Prepared {
    let id = row.id(&TOLD);
    let (mut notes, mut faults) = (Vec::new(), Vec::new());
    let at = match (row.cell("when"), &otherwise.at) {
        (Some(text), _) => instant("when", text, otherwise.zone),
        (None, Some(at)) => instant("--at", at, otherwise.zone),
        (None, None) => Err("when: missing; write when it was done, or give --at".to_owned()),
    };
    let mut number = |column: &'static str| {
        let read = row.cell(column).map(|text| whole(column, text)).transpose();
        match read {
            Ok(read) => read.map(|read| {
                notes.extend(read.note);
                read.value
            }),
            Err(why) => {
                faults.push(why);
                None
            }
        }
    };
    let (qty, grinds) = (number("qty"), number("grinds"));
    let arc_minutes = row
        .cell("arc")
        .map(|text| arc(text, has_decimal_commas))
        .transpose();
    let arc_minutes = arc_minutes.map_err(|why| faults.push(why));
    let at = at.map_err(|why| faults.push(why));
    let (Ok(at), Ok(arc_minutes), true) = (at, arc_minutes, faults.is_empty()) else {
        return Err(Judged::refused(row.line, id, &faults));
    };
    notes.extend(at.note);
    let usage = NewUsage {
        id: Some(id),
        torch: row.text("torch"),
        what: row.text("what"),
        part: row.text("part"),
        qty,
        arc_minutes,
        grinds,
        at: Some(at.value),
        job: row.text("job"),
        site: row.text("site").or_else(|| otherwise.site.clone()),
        by: row.text("by").or_else(|| otherwise.by.clone()),
        ..NewUsage::default()
    };
    Ok((usage, notes.join("; ")))
}

fn told(line: u64, usage: NewUsage, note: String, outcome: Option<UsageOutcome>) -> Judged {
    let id = usage.id.unwrap_or_default();
    let Some(outcome) = outcome else {
        let why = "the service told nothing of it; import the file again".to_owned();
        return Judged::refused(line, id, &[why]);
    };
    // A book that goes below zero is accepted and asked about; whoever imports should know.
    let below = outcome
        .recorded
        .as_ref()
        .filter(|recorded| recorded.stock.iter().any(|stock| stock.on_hand < 0));
    let what_to_do = match (&outcome.problem, &outcome.kept_aside, below) {
        (Some(problem), _, _) => remedy(problem),
        (None, Some(aside), _) => aside.says.clone(),
        (None, None, Some(recorded)) => recorded.says.clone(),
        (None, None, None) => note,
    };
    Judged {
        line,
        id,
        result: outcome.result,
        what_to_do,
    }
}
