//! A sheet of counts: each row a count, and what lies in several drawers adds up.

use std::collections::VecDeque;

use types::NewCount;

use super::cells::Cells;
use super::{Batch, Judged, Outcome, refusals};
use crate::service::keys::Caller;
use crate::service::stocktake::{self, Became, Keeping};
use crate::service::{Context, Error};

/// What a row without an id of its own is known by.
const TOLD: [&str; 6] = ["site", "drawer", "part", "counted", "counted_at", "by"];
/// Every column that means something, and what a count list tells a person.
pub(super) const MEANS: [&str; 12] = [
    "row_id",
    "site",
    "drawer",
    "part",
    "counted",
    "counted_at",
    "by",
    "name",
    "unit",
    "why",
    "last_counted",
    "note",
];

/// A row as it is sent, with what was guessed; or what became of it without sending.
type Prepared = Result<(NewCount, String), Judged>;

/// Judges the rows of a sheet of counts, and records what is right.
///
/// # Errors
/// Nothing can be written.
pub(super) async fn push(
    context: &Context,
    caller: Caller,
    sheet: &Batch<'_>,
) -> Result<Vec<Judged>, Error> {
    let how = sheet.how();
    let rows: Vec<Prepared> = sheet.read(prepare);
    let counts: Vec<NewCount> = rows
        .iter()
        .flatten()
        .map(|(count, _)| count.clone())
        .collect();
    let is_refused = |row: &Prepared| matches!(row, Err(it) if it.outcome.needs_a_person());
    let keeping = match (how.only_try, how.all_or_none) {
        (true, _) => Keeping::Nothing,
        (false, true) if rows.iter().any(is_refused) => Keeping::Nothing,
        (false, true) => Keeping::AllOrNone,
        (false, false) => Keeping::WhatIsRight,
    };
    let outcomes = if counts.is_empty() {
        Vec::new()
    } else {
        stocktake::record_sheet(context, caller, counts, keeping).await?
    };
    let mut outcomes: VecDeque<stocktake::Outcome> = outcomes.into();
    let ids: Vec<String> = outcomes.iter().map(|it| it.id.clone()).collect();
    let refusals = refusals::Refusals::load(context, caller, &ids).await?;
    let mut judged = Vec::with_capacity(rows.len());
    for (row, cells) in rows.into_iter().zip(sheet.rows) {
        judged.push(match row {
            Err(judged) => judged,
            Ok((_, note)) => {
                let outcome = outcomes.pop_front().ok_or(Error::Unavailable)?;
                let cells = sheet.reader.row(cells);
                let cell = |column: &str| cells.cell(column);
                match outcome.result {
                    Err(error) => Judged::refused(refusals.why(&error, &outcome.id, cell)),
                    Ok((became, was_before)) => told(&became, was_before, (note, how.only_try)),
                }
            }
        });
    }
    if how.all_or_none {
        super::none_alone(&mut judged);
    }
    Ok(judged)
}

fn prepare(mut cells: Cells<'_>) -> Prepared {
    let id = cells.id(&TOLD, &[]);
    if cells.cell("counted").is_none() {
        return Err(Judged {
            outcome: Outcome::Blank,
            what_to_do: String::new(),
        });
    }
    let counted = cells.whole("counted");
    let at = cells.instant("counted_at");
    let part = cells.text("part");
    if part.is_none() {
        cells
            .faults
            .push("part: missing; write its code".to_owned());
    }
    let (Some(part), Some(counted), true) = (part, counted, cells.faults.is_empty()) else {
        return Err(Judged::refused(cells.faults.join("; ")));
    };
    if counted < 0 {
        return Err(Judged::refused("A count cannot be negative."));
    }
    let count = NewCount {
        id: Some(id),
        part,
        counted,
        drawer: cells.text("drawer"),
        at,
        site: cells.site(),
        by: cells.by(),
        note: cells.text("note"),
        ..NewCount::default()
    };
    Ok((count, cells.notes.join("; ")))
}

fn told(became: &Became, was_before: bool, (note, only_try): (String, bool)) -> Judged {
    match became {
        Became::KeptAside(aside) => Judged {
            outcome: Outcome::KeptAside,
            what_to_do: aside.says.clone(),
        },
        Became::Counted(_) if was_before => Judged {
            outcome: Outcome::AlreadyIn,
            what_to_do: note,
        },
        Became::Counted(counted) => {
            // What is asked while a sheet is only tried is never asked.
            let asks = !only_try && !counted.questions.is_empty();
            let is_history = counted.on_hand != counted.counted;
            let said = (asks || is_history).then(|| counted.says.clone());
            let lines = [Some(note), said].into_iter().flatten();
            let lines: Vec<String> = lines.filter(|it| !it.is_empty()).collect();
            Judged {
                outcome: Outcome::In,
                what_to_do: lines.join("; "),
            }
        }
    }
}
