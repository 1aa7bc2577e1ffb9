//! How the demo tells its answer: a table for people, one JSON document for programs.

use std::io::{IsTerminal, Write};

use comfy_table::{CellAlignment, Table, TableComponent, presets};
use serde_json::json;
use types::{NeedLine, Needs};

/// Shows how far the history is, on standard error and only where somebody watches.
pub(super) fn progress(done: usize, all: usize) {
    let mut err = std::io::stderr();
    if !err.is_terminal() {
        return;
    }
    let end = if done == all { "\n" } else { "" };
    // Progress that cannot be shown is not worth a failure.
    let _ = write!(
        err,
        "\rPosting three years of history: {done} of {all} entries{end}"
    );
}

/// The answer as one JSON document.
pub(super) fn json(needs: &Needs) -> String {
    let lines: Vec<_> = needs.lines.iter().map(json_line).collect();
    let document = json!({
        "job": needs.job,
        "chance_now": needs.chance_now,
        "chance_after": needs.chance_after,
        "lines": lines,
        "cost_minor": needs.cost_minor,
        "currency": needs.currency,
    });
    format!("{document}\n")
}

fn json_line(line: &NeedLine) -> serde_json::Value {
    let order = line.order.as_ref();
    json!({
        "part": line.part,
        "expected": line.expected,
        "need": line.need,
        "available": line.available,
        "short": line.short,
        "packs": order.map_or(0, |order| order.packs),
        "pack_size": order.map(|order| order.pack_size),
        "order_pieces": order.map_or(0, |order| order.pieces),
        "after": line.after,
    })
}

/// The answer as a table with a reason a line.
pub(super) fn text(needs: &Needs) -> String {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING);
    table.set_style(TableComponent::HeaderLines, '-');
    table.set_style(TableComponent::MiddleHeaderIntersections, '-');
    table.set_header([
        "Part",
        "Expected use",
        "Need at 95 %",
        "Available",
        "Short",
        "Order",
        "After",
    ]);
    for line in &needs.lines {
        let order = line.order.as_ref().map_or_else(
            || "-".to_owned(),
            |order| {
                let packs = if order.packs == 1 { "pack" } else { "packs" };
                format!("{} {packs} of {}", order.packs, order.pack_size)
            },
        );
        let digits = if line.expected < 1.0 { 2 } else { 1 };
        table.add_row([
            line.name.clone(),
            format!("{:.digits$}", line.expected),
            line.need.to_string(),
            line.available.to_string(),
            line.short.to_string(),
            order,
            line.after.to_string(),
        ]);
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 1));
    }
    for column in [1, 2, 3, 4, 6] {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let why: Vec<String> = needs
        .lines
        .iter()
        .map(|line| format!("{}: {}", line.part, line.why))
        .collect();
    let (says, why, assumes) = (
        lines("", &needs.says),
        lines("  ", &why),
        lines("  ", &needs.assumes),
    );
    format!(
        "\nWill job {} run without a stop? It starts on {}.\n\n{}\n\n{says}\nWhy:\n{why}\nThis takes for granted:\n{assumes}",
        needs.job,
        needs.start,
        table.trim_fmt()
    )
}

/// One line each, indented.
fn lines(indent: &str, told: &[String]) -> String {
    let mut text = String::new();
    for line in told {
        text.push_str(indent);
        text.push_str(line);
        text.push('\n');
    }
    text
}

/// What to try while the demo serves on.
pub(super) fn invitation(server: &str) -> String {
    format!(
        "\nThe demo serves on at {server} until you press Ctrl-C. Try:\n\n  \
         curl {server}/v1/jobs/R-118/needs\n  \
         cargo run -q -p tigstock-cli -- --server {server} log T1 75m 3g\n  \
         cargo run -q -p tigstock-cli -- --server {server} plan R-118\n  \
         {server}/docs  (the whole API, to read in a browser)\n\n\
         All data are invented. Stock and planning help; not safety advice.\n"
    )
}
