//! Sheets: rows of use that are pushed in a second, over the same rows inserted into the bare database at once; and
//! movements that are pulled in a second, over the same rows read from the bare database and written as CSV. What
//! memory the process had at most is told beside each, where the system tells it; the baseline and the caller are in
//! the same process, so it is more than the service alone takes.

use std::fmt::Write;
use std::time::Instant;

use chrono::{TimeDelta, Utc};
use client::SheetName;
use types::{NewUsage, NewUsageBatch, PushSheet, SheetForm, SheetOfPart, SheetTable};

use crate::commits::Bare;
use crate::load::rate;
use crate::service::{PART, Service, TORCH};
use crate::{compare, explain};

/// Rows of a sheet that is pushed.
const PUSHED: u32 = 10_000;
/// Movements on record, and those among them that go into a workbook, whose rows are limited.
const PULLED: u32 = 200_000;
const IN_WORKBOOK: u32 = 50_000;
/// The part of those that go into a workbook.
const OTHER: &str = "collet-2.4";
/// As many as one batch takes.
const BATCH: u32 = 1_000;

/// The ratio of what is pushed.
pub(crate) fn pushed() -> Result<f64, String> {
    let bare = Bare::open()?;
    let service = Service::start()?;
    let from = from_now_on()?;
    let ratio = compare(
        &format!("{PUSHED} rows inserted at once, and pushed as a sheet"),
        |_| {
            let begin = Instant::now();
            bare.insert(PUSHED)?;
            Ok(rate(PUSHED, begin.elapsed()))
        },
        |round| {
            let (file, how) = (used(round), PushSheet::default());
            let begin = Instant::now();
            let told = service.ask(|client| async move {
                let file = (file.into_bytes(), "text/csv");
                client.push_sheet(SheetTable::Usage, file, &how).await
            })?;
            let time = begin.elapsed();
            if told.rows.iter().any(|row| row.result != "in") {
                return Err(told.says);
            }
            Ok(rate(PUSHED, time))
        },
    )?;
    explain_memory("import_usage", from)?;
    Ok(ratio)
}

/// The ratio of what is pulled as CSV; as a workbook it is told beside it.
pub(crate) fn pulled() -> Result<f64, String> {
    let bare = Bare::open()?;
    bare.insert(PULLED)?;
    let service = Service::start()?;
    fill(&service)?;
    let from = from_now_on()?;
    let ratio = compare(
        &format!("{PULLED} movements read and written as CSV, and pulled as a sheet"),
        |_| {
            let begin = Instant::now();
            let written = bare.export()?;
            if written != PULLED {
                return Err(format!("{written} rows are there, and not {PULLED}"));
            }
            Ok(rate(PULLED, begin.elapsed()))
        },
        |_| {
            let begin = Instant::now();
            let file = pull(&service, SheetForm::Csv, None)?;
            let time = begin.elapsed();
            let lines = file.split(|byte| *byte == b'\n').count() - 1;
            if lines != usize::try_from(PULLED).unwrap_or(usize::MAX) + 1 {
                return Err(format!("{lines} lines, of {PULLED} rows and the header"));
            }
            Ok(rate(PULLED, time))
        },
    )?;
    explain_memory("export_movements", from)?;
    let from = from_now_on()?;
    let begin = Instant::now();
    let file = pull(&service, SheetForm::Xlsx, Some(OTHER))?;
    explain(&format!(
        "export_movements: {IN_WORKBOOK} rows as XLSX: {:.0} a second, {} bytes",
        rate(IN_WORKBOOK, begin.elapsed()),
        file.len()
    ))?;
    explain_memory("export_movements as XLSX", from)?;
    Ok(ratio)
}

fn pull(service: &Service, form: SheetForm, part: Option<&str>) -> Result<Vec<u8>, String> {
    let query = SheetOfPart {
        part: part.map(str::to_owned),
    };
    service.ask(|client| async move { client.sheet_file(SheetName::Movements, form, &query).await })
}

/// A sheet of use: half of the rows took a part, half are arc time alone. Each round has ids of its own.
#[expect(
    clippy::disallowed_methods,
    reason = "the service runs by the system's clock, so what is pushed must be of now"
)]
fn used(round: usize) -> String {
    let mut text = "row_id,when,torch,part,qty,arc,grinds,job,what\n".to_owned();
    let now = Utc::now();
    for row in 0..PUSHED {
        let when = (now - TimeDelta::seconds(i64::from(PUSHED - row))).to_rfc3339();
        let what = if row % 2 == 0 {
            format!("{PART},1,,,,took")
        } else {
            ",,5m,1,,".to_owned()
        };
        // Text takes whatever is written.
        let _ = writeln!(text, "{round}-{row},{when},{TORCH},{what}");
    }
    text
}

/// Puts movements on record: of each part in batches.
fn fill(service: &Service) -> Result<(), String> {
    for begin in (0..PULLED).step_by(BATCH as usize) {
        let part = if begin < IN_WORKBOOK { OTHER } else { PART };
        let batch = NewUsageBatch {
            entries: (begin..begin + BATCH)
                .map(|number| took(part, number))
                .collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = service.ask(|client| async move { client.record_usage_batch(&batch).await })?;
        if told.refused > 0 || told.kept_aside > 0 {
            return Err(told.says);
        }
    }
    explain(&format!("{PULLED} movements are on record"))
}

fn took(part: &str, number: u32) -> NewUsage {
    NewUsage {
        id: Some(format!("took-{number}")),
        part: Some(part.to_owned()),
        what: Some("took".to_owned()),
        ..NewUsage::default()
    }
}

/// Forgets the most memory that this process has had; what it has now, in MiB, where the system tells it.
fn from_now_on() -> Result<Option<u64>, String> {
    if !cfg!(target_os = "linux") {
        return Ok(None);
    }
    // By proc(5), 5 resets the peak.
    std::fs::write("/proc/self/clear_refs", "5").map_err(|error| error.to_string())?;
    Ok(memory("VmRSS:"))
}

fn explain_memory(name: &str, from: Option<u64>) -> Result<(), String> {
    let told = match (from, memory("VmHWM:")) {
        (Some(from), Some(most)) => format!("{most} MiB resident at most, {from} MiB before"),
        _ => "the system does not tell".to_owned(),
    };
    explain(&format!("{name}: memory: {told}"))
}

fn memory(name: &str) -> Option<u64> {
    let told = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = told.lines().find(|line| line.starts_with(name))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes / 1_024)
}
