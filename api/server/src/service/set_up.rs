//! The first set-up: a drawer list in the shop's own words becomes parts, drawers and first counts. A row of which
//! anything is unsure is asked about and changes nothing; a list that comes again changes nothing either.

use domain::drawer_label::{Fields, Proposal};
use domain::part::BodyFamily;
use types::{PushDrawerList, Violation};

use super::keys::Caller;
use super::{Context, Error, codes};
use crate::sheets::reading::Table;

pub mod columns;
mod record;
mod rows;

use columns::Columns;
pub use rows::FIELDS;

/// What was understood of a row, and what became of it.
#[derive(Clone, Debug)]
pub struct SetUpRow {
    /// What became of it: `in`, `already in`, `refused` or `blank`.
    pub result: &'static str,
    /// What to do, or to know.
    pub what_to_do: String,
    /// The code of the part, once it has one.
    pub code: Option<String>,
    /// What was understood of the part.
    pub proposal: Proposal,
}

/// What became of a drawer list.
#[derive(Clone, Debug)]
pub struct SetUpList {
    /// The sum in one line, and which columns were taken for what.
    pub says: String,
    /// What became of each row, in their order.
    pub rows: Vec<SetUpRow>,
}

/// The most rows of one list: they are written at once.
const ROWS_MAX: usize = 5_000;

/// Sets up what a drawer list says for certain, or only says what would become of each row.
///
/// # Errors
/// The list cannot be taken as a whole, or nothing can be written.
pub async fn push(
    context: &Context,
    caller: Caller,
    table: &Table,
    how: &PushDrawerList,
) -> Result<SetUpList, Error> {
    if table.rows.len() > ROWS_MAX {
        let why = format!(
            "{} rows; cut it into lists of at most {ROWS_MAX}",
            table.rows.len()
        );
        return Err(Error::invalid("", why));
    }
    let columns = Columns::of(table).map_err(|why| Error::invalid("", why))?;
    let usual = Fields {
        family: family(how.family.as_deref())?,
        ..Fields::default()
    };
    let site = codes::site_or_first(context.store.read(), "?site", how.site.as_deref()).await?;
    let now = context.clock.now();
    let read = rows::read(table, &columns, &usual);
    let list = record::List {
        rows: read,
        site,
        by: how.by.clone(),
        sent: (caller, now),
    };
    let rows = if how.only_try {
        let work = context
            .writer
            .rehearse(move |tx| Box::pin(record::all(tx, list)));
        work.await?
    } else {
        let work = context
            .writer
            .write(move |tx| Box::pin(record::all(tx, list)));
        work.await?
    };
    let says = says(&rows, how.only_try, &columns.says(table));
    Ok(SetUpList { says, rows })
}

fn family(told: Option<&str>) -> Result<Option<BodyFamily>, Error> {
    let family = told.map(BodyFamily::parse).transpose();
    family.map_err(|why| Error::Invalid(vec![Violation::new("?family", why)]))
}

/// `41 rows: 38 in, 1 already in, 2 need you.`
fn says(rows: &[SetUpRow], only_try: bool, columns: &str) -> String {
    let of = |result: &str| rows.iter().filter(|row| row.result == result).count();
    let blank = of(rows::BLANK);
    let mut told = format!(
        "{} rows: {} in, {} already in, {} need you.",
        rows.len() - blank,
        of(rows::IN),
        of(rows::ALREADY_IN),
        of(rows::REFUSED)
    );
    if blank > 0 {
        told = format!("{told} {blank} blank.");
    }
    if only_try {
        told.push_str(" Only tried: nothing has changed.");
    }
    format!("{told} {columns}")
}
