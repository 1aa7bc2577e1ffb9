//! Which column of a drawer list is what: by its name, and where that says nothing, by what stands in it.

use domain::drawer_label::{self, Fields};

use super::rows::FIELDS;
use crate::sheets::reading::{Row, Table};
use crate::sheets::returned::COME_BACK;

/// The columns of a list, by their places.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    /// Those that say in words what it is; their cells are read together.
    pub(super) what: Vec<usize>,
    pub(super) drawer: Option<usize>,
    pub(super) count: Option<usize>,
    /// The fields of the part, by the names that come back.
    pub(super) fields: Vec<(&'static str, usize)>,
}

/// Names that shops give to the number of a drawer.
const DRAWER: [&str; 9] = [
    "drawer",
    "drawer no",
    "drawer number",
    "no",
    "nr",
    "#",
    "number",
    "place",
    "where",
];
/// Names for what lies in it.
const WHAT: [&str; 9] = [
    "what",
    "description",
    "what is in it",
    "contents",
    "name",
    "part",
    "label",
    "type",
    "size",
];
/// Names for how many.
const COUNT: [&str; 10] = [
    "how many", "qty", "quantity", "count", "counted", "on hand", "pieces", "pcs", "in stock",
    "there",
];

/// A name as it is compared: without case, underscores and a full stop.
fn plain(name: &str) -> String {
    let name = name.trim().trim_end_matches(['.', ':', '?']);
    name.replace('_', " ").to_lowercase()
}

/// Whether a row names columns: one of them says what lies in a drawer, or it has two names and no figure.
pub fn is_header(cells: &[String]) -> bool {
    let named = |name: &String| WHAT.contains(&&*plain(name)) || field(name).is_some();
    let full: Vec<&String> = cells.iter().filter(|cell| !cell.is_empty()).collect();
    let has_figure = |cell: &&&String| cell.bytes().any(|byte| byte.is_ascii_digit());
    full.iter().any(|name| named(name)) && full.len() > 1
        || (full.len() > 2 && full.iter().filter(has_figure).count() == 0)
}

/// What is missing if no row names columns.
pub const MISSING: &str = "no row names the columns; write above the rows: drawer, what, how many";

/// The field that a column is named after.
fn field(name: &str) -> Option<&'static str> {
    let name = name.trim();
    FIELDS
        .into_iter()
        .find(|field| field.eq_ignore_ascii_case(name))
}

impl Columns {
    /// The columns of a list.
    ///
    /// # Errors
    /// No column says what lies in the drawers.
    pub(super) fn of(table: &Table) -> Result<Self, String> {
        let mut columns = Self::default();
        let mut others = Vec::new();
        for (place, name) in table.columns.iter().enumerate() {
            let known = plain(name);
            if let Some(field) = field(name) {
                columns.fields.push((field, place));
            } else if WHAT.contains(&&*known) {
                columns.what.push(place);
            } else if COUNT.contains(&&*known) && columns.count.is_none() {
                columns.count = Some(place);
            } else if DRAWER.contains(&&*known) && columns.drawer.is_none() {
                columns.drawer = Some(place);
            } else if !ours(name) {
                others.push(place);
            }
        }
        if columns.what.is_empty() {
            columns
                .what
                .extend(with_most(&table.rows, &others, is_of_a_part));
            others.retain(|place| !columns.what.contains(place));
        }
        if columns.count.is_none() {
            let numbers = others
                .iter()
                .filter(|place| all_whole(&table.rows, **place));
            let numbers: Vec<usize> = numbers.copied().collect();
            // Of several columns of numbers none is guessed to be the count.
            if let [count] = *numbers {
                columns.count = Some(count);
            }
        }
        let has_kind = columns.fields.iter().any(|(field, _)| *field == "kind");
        if columns.what.is_empty() && !has_kind {
            let names = table.columns.join(", ");
            return Err(format!(
                "no column says what lies in the drawers; call it what. The columns are: {names}"
            ));
        }
        Ok(columns)
    }

    /// Which columns were taken for what, and which were not looked at.
    pub(super) fn says(&self, table: &Table) -> String {
        let name = |place: &usize| table.columns.get(*place).map_or("", String::as_str);
        let what: Vec<&str> = self.what.iter().map(name).collect();
        let mut told = Vec::new();
        if !what.is_empty() {
            told.push(format!("what it is: {}", what.join(" and ")));
        }
        told.extend(self.drawer.iter().map(|it| format!("drawer: {}", name(it))));
        told.extend(
            self.count
                .iter()
                .map(|it| format!("how many: {}", name(it))),
        );
        let mut line = format!("Columns: {}.", told.join("; "));
        let is_used = |place: usize| {
            self.what.contains(&place)
                || self.drawer == Some(place)
                || self.count == Some(place)
                || self.fields.iter().any(|(_, it)| *it == place)
                || ours(name(&place))
        };
        let places = 0..table.columns.len();
        let ignored: Vec<&str> = places
            .filter(|place| !is_used(*place))
            .map(|place| table.columns[place].as_str())
            .filter(|name| !name.is_empty())
            .collect();
        if !ignored.is_empty() {
            line = format!("{line} Not looked at: {}.", ignored.join(", "));
        }
        line
    }
}

/// What comes back beside the fields.
fn ours(name: &str) -> bool {
    let mut all = COME_BACK.iter().chain(&["question"]);
    all.any(|it| it.eq_ignore_ascii_case(name.trim()))
}

/// The column of which most cells are what is looked for, if any is.
fn with_most(rows: &[Row], places: &[usize], is: fn(&str) -> bool) -> Option<usize> {
    let count = |place: usize| {
        let cells = rows.iter().filter_map(|row| row.cells.get(place));
        cells.filter(|cell| is(cell)).count()
    };
    let most = places
        .iter()
        .copied()
        .rev()
        .max_by_key(|place| count(*place))?;
    (count(most) > 0).then_some(most)
}

fn is_of_a_part(cell: &str) -> bool {
    drawer_label::read(cell, &Fields::default())
        .fields
        .kind
        .is_some()
}

fn all_whole(rows: &[Row], place: usize) -> bool {
    let mut cells = rows
        .iter()
        .filter_map(|row| row.cells.get(place))
        .filter(|it| !it.is_empty())
        .peekable();
    cells.peek().is_some() && cells.all(|cell| crate::service::pushed::whole(cell).is_ok())
}
