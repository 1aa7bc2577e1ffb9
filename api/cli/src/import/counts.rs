//! A sheet of counts: each row a count, and all of them one batch.

use client::Client;
use types::{CountOutcome, NewCount, NewCountBatch};

use super::cells::{Otherwise, instant, whole};
use super::file::{File, Row};
use super::judged::{Judged, remedy};
use crate::failure::Failure;

/// What a row without an id of its own is known by.
const TOLD: [&str; 6] = ["site", "drawer", "part", "counted", "counted_at", "by"];

/// A row as it is sent, with what was guessed; or what became of it without sending.
type Prepared = Result<(NewCount, String), Judged>;

/// Sends what can be read, and says of each row what became of it.
pub(super) async fn judge(
    client: &Client,
    file: &File,
    otherwise: &Otherwise,
    only_try: bool,
) -> Result<Vec<Judged>, Failure> {
    let rows: Vec<Prepared> = file
        .rows
        .iter()
        .map(|row| prepare(row, otherwise))
        .collect();
    let counts: Vec<NewCount> = rows
        .iter()
        .flatten()
        .map(|(count, _)| count.clone())
        .collect();
    let outcomes = if counts.is_empty() {
        Vec::new()
    } else {
        let batch = NewCountBatch { counts, only_try };
        client.record_count_batch(&batch).await?.rows
    };
    let mut outcomes = outcomes.into_iter();
    let judged = rows
        .into_iter()
        .zip(&file.rows)
        .map(|(prepared, row)| match prepared {
            Err(judged) => judged,
            Ok((count, note)) => told(row.line, count, note, outcomes.next()),
        });
    Ok(judged.collect())
}

fn prepare(row: &Row, otherwise: &Otherwise) -> Prepared {
    let id = row.id(&TOLD);
    let Some(counted) = row.cell("counted") else {
        return Err(Judged::blank(row.line, id));
    };
    let (mut notes, mut faults) = (Vec::new(), Vec::new());
    let counted = whole("counted", counted).map_err(|why| faults.push(why));
    let at = match (row.cell("counted_at"), &otherwise.at) {
        (Some(text), _) => instant("counted_at", text, otherwise.zone),
        (None, Some(at)) => instant("--at", at, otherwise.zone),
        (None, None) => {
            Err("counted_at: missing; write when it was counted, or give --at".to_owned())
        }
    };
    let at = at.map_err(|why| faults.push(why));
    let Some(part) = row.text("part") else {
        faults.push("part: missing; write its code".to_owned());
        return Err(Judged::refused(row.line, id, &faults));
    };
    let (Ok(counted), Ok(at)) = (counted, at) else {
        return Err(Judged::refused(row.line, id, &faults));
    };
    notes.extend(counted.note);
    notes.extend(at.note);
    let count = NewCount {
        id: Some(id),
        part,
        counted: counted.value,
        drawer: row.text("drawer"),
        at: Some(at.value),
        site: row.text("site").or_else(|| otherwise.site.clone()),
        by: row.text("by").or_else(|| otherwise.by.clone()),
        ..NewCount::default()
    };
    Ok((count, notes.join("; ")))
}

fn told(line: u64, count: NewCount, note: String, outcome: Option<CountOutcome>) -> Judged {
    let id = count.id.unwrap_or_default();
    let Some(outcome) = outcome else {
        let why = "the service told nothing of it; import the file again".to_owned();
        return Judged::refused(line, id, &[why]);
    };
    let what_to_do = match (&outcome.problem, &outcome.kept_aside) {
        (Some(problem), _) => remedy(problem),
        (None, Some(aside)) => aside.says.clone(),
        (None, None) => note,
    };
    Judged {
        line,
        id,
        result: outcome.result,
        what_to_do,
    }
}
