//! What became of the rows of a file: the sum in one line, the same sheet with two columns added, and
//! the rows that a person should see.

use serde::Serialize;
use types::Problem;

use super::columns::{RESULT, WHAT_TO_DO};
use super::file::File;
use crate::sheet::{Cell, Column, Sheet};

/// What became of a row.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Judged {
    /// Its line in the file.
    pub(crate) line: u64,
    /// Its id.
    pub(crate) id: String,
    /// `counted` or `recorded`, `already in`, `kept aside`, `refused`, or `blank`.
    pub(crate) result: String,
    /// What a person should do, or know.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub(crate) what_to_do: String,
}

/// The whole, as a program reads it.
#[derive(Debug, Serialize)]
pub(crate) struct Answer<'a> {
    /// The sum in one line.
    pub(crate) says: &'a str,
    /// Whether nothing has changed.
    #[serde(rename = "try")]
    pub(crate) only_tried: bool,
    /// The rows.
    pub(crate) rows: &'a [Judged],
}

/// The word for a row that came before.
pub(super) const ALREADY_IN: &str = "already in";
const BLANK: &str = "blank";
const KEPT_ASIDE: &str = "kept aside";
const REFUSED: &str = "refused";

impl Judged {
    /// A row that cannot be sent.
    pub(crate) fn refused(line: u64, id: String, why: &[String]) -> Self {
        Self {
            line,
            id,
            result: REFUSED.to_owned(),
            what_to_do: why.join("; "),
        }
    }

    /// A row in which nothing was written.
    pub(crate) fn blank(line: u64, id: String) -> Self {
        Self {
            line,
            id,
            result: BLANK.to_owned(),
            what_to_do: String::new(),
        }
    }

    /// Whether a person must do something about it.
    pub(crate) fn needs_a_person(&self) -> bool {
        matches!(&*self.result, REFUSED | KEPT_ASIDE)
    }
}

/// What a person should do about a problem, field by field.
pub(crate) fn remedy(problem: &Problem) -> String {
    if problem.violations.is_empty() {
        return problem.detail.clone();
    }
    let told = problem.violations.iter().map(|it| {
        let field = it.pointer.trim_start_matches(['/', '?']);
        format!("{field}: {}", it.detail)
    });
    told.collect::<Vec<_>>().join("; ")
}

/// `41 rows: 38 in, 1 already in, 2 need you.`
pub(crate) fn sum(judged: &[Judged], only_try: bool) -> String {
    let count = |is: &dyn Fn(&Judged) -> bool| judged.iter().filter(|it| is(it)).count();
    let blank = count(&|it| it.result == BLANK);
    let already = count(&|it| it.result == ALREADY_IN);
    let need = count(&Judged::needs_a_person);
    let rows = judged.len() - blank;
    let recorded = rows - already - need;
    let blank = if blank > 0 {
        format!(" {blank} blank.")
    } else {
        String::new()
    };
    let tried = if only_try {
        " Only tried: nothing has changed."
    } else {
        ""
    };
    format!("{rows} rows: {recorded} in, {already} already in, {need} need you.{blank}{tried}")
}

/// The same sheet, with what became of each row.
pub(crate) fn sheet(file: &File, judged: &[Judged]) -> Sheet {
    let kept = || {
        file.columns
            .iter()
            .filter(|it| ![RESULT, WHAT_TO_DO].contains(it))
    };
    let columns = kept().chain(&[RESULT, WHAT_TO_DO]).map(|name| Column {
        name: (*name).into(),
        heading: None,
    });
    let rows = file.rows.iter().zip(judged).map(|(row, judged)| {
        let cells = kept().map(|column| Cell::from(&row.text(column)));
        let result = Cell::from(&judged.result);
        let what_to_do = Some(judged.what_to_do.clone()).filter(|it| !it.is_empty());
        cells.chain([result, Cell::from(&what_to_do)]).collect()
    });
    Sheet {
        columns: columns.collect(),
        rows: rows.collect(),
    }
}

/// The rows that a person should see; none if there are none.
pub(crate) fn noted(file: &File, judged: &[Judged]) -> Option<Sheet> {
    let mut sheet = Sheet::new([
        ("line", "Line"),
        ("part", "Part"),
        (RESULT, "Result"),
        (WHAT_TO_DO, "What to do"),
    ]);
    for (row, judged) in file.rows.iter().zip(judged) {
        if judged.what_to_do.is_empty() {
            continue;
        }
        sheet.push([
            i64::try_from(judged.line).map_or(Cell::Nothing, Cell::Whole),
            Cell::from(&row.text("part")),
            Cell::from(&judged.result),
            Cell::from(&judged.what_to_do),
        ]);
    }
    (!sheet.rows.is_empty()).then_some(sheet)
}
