//! Which row names the columns: the first that has all that must be there. Titles and merged cells may stand above.

use super::{Found, ROWS_MAX, Row, Table, Unread, too_long};

/// Among so many rows from the top.
pub(super) const LOOK_AT: usize = 20;

/// Of several tables the first whose columns all stand in one row; else the one of which most do, if any.
pub(super) fn which(found: &Found, tables: &[&[&str]]) -> Result<usize, Unread> {
    let top = &found.rows[..found.rows.len().min(LOOK_AT)];
    let there = |must: &[&str]| {
        let counts = top.iter().map(|row| must.len() - missing(row, must).len());
        counts.max().unwrap_or_default()
    };
    let whole = tables.iter().position(|must| there(must) == must.len());
    let most = || (0..tables.len()).rev().max_by_key(|it| there(tables[*it]));
    match whole.or_else(most) {
        Some(which) if there(tables[which]) > 0 => Ok(which),
        _ => {
            let first = top.first().map(|row| shortened(&row.cells.join(",")));
            Err(Unread::Invalid(format!(
                "its columns are those of no table that is known; name the table (--table, or /v1/sheets/{{table}}). Its \
                 first line is: {}",
                first.unwrap_or_default()
            )))
        }
    }
}

/// What must be there, and is not in a row.
fn missing<'m>(row: &Row, must: &[&'m str]) -> Vec<&'m str> {
    let is_there = |name: &str| row.cells.iter().any(|it| it.eq_ignore_ascii_case(name));
    let must = must.iter().copied();
    must.filter(|name| !is_there(name)).collect()
}

pub(super) fn under(found: Found, must: &[&str]) -> Result<Table, Unread> {
    let Found {
        form,
        mut rows,
        has_semicolons,
    } = found;
    let missing = |row: &Row| missing(row, must);
    let top = &rows[..rows.len().min(LOOK_AT)];
    let Some(place) = top.iter().position(|row| missing(row).is_empty()) else {
        // The row that comes nearest to a header; the first of those.
        let nearest = top.iter().min_by_key(|row| missing(row).len());
        return Err(Unread::Invalid(match nearest {
            None => "the file has nothing in it".to_owned(),
            Some(row) => {
                let missing = missing(row);
                let row = if missing.len() < must.len() {
                    row
                } else {
                    &top[0]
                };
                format!(
                    "the column \"{}\" is missing; it may be empty, but it must be there. Line {} of the sheet is: {}",
                    missing.first().copied().unwrap_or_default(),
                    row.line,
                    shortened(&row.cells.join(","))
                )
            }
        }));
    };
    let body = rows.split_off(place + 1);
    let Row {
        line: header,
        cells: columns,
    } = rows.pop().unwrap_or_default();
    for (place, name) in columns.iter().enumerate() {
        let same = |it: &String| !name.is_empty() && it.eq_ignore_ascii_case(name);
        if columns[..place].iter().any(same) {
            return Err(Unread::Invalid(format!(
                "the column \"{name}\" is there twice"
            )));
        }
    }
    if let Some(row) = body.iter().find(|row| row.cells.len() > columns.len()) {
        return Err(Unread::Invalid(format!(
            "line {} has {} values under {} columns; put text with a comma in quotation marks",
            row.line,
            row.cells.len(),
            columns.len()
        )));
    }
    if body.is_empty() {
        return Err(Unread::Invalid(
            "there are no rows under the header".to_owned(),
        ));
    }
    if body.len() > ROWS_MAX {
        return Err(too_long());
    }
    Ok(Table {
        form,
        columns,
        header,
        rows: body,
        has_semicolons,
    })
}

/// The beginning of a line, enough to know it by.
fn shortened(line: &str) -> String {
    const ENOUGH: usize = 200;
    let mut short: String = line.chars().take(ENOUGH).collect();
    if short.len() < line.len() {
        short.push_str(" ...");
    }
    short
}
