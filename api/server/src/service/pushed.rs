//! Sheets that are pushed: each row is judged alone, by the same use cases as a single entry, and is told what
//! became of it. A row without `row_id` gets an id that follows from what it says and where it stands, so that
//! pushing a sheet again is harmless.

use types::{Role, SheetTable};

use super::keys::Caller;
use super::{Context, Error, sites};
use crate::sheets::reading::{Row, Table};
use crate::sheets::returned::COME_BACK;

mod answers;
mod cells;
mod counts;
mod courses;
mod entries;
mod offers;
mod parts;
mod receipts;
mod refusals;
mod set_up;
mod usage;

pub(super) use cells::whole;
use cells::{Cells, Reader};
pub use set_up::{Became, SetUp, differing};

/// How a sheet is pushed.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own in the address"
)]
#[derive(Clone, Debug, Default)]
pub struct Pushing {
    /// Whether only to say what would become of each row.
    pub only_try: bool,
    /// Whether nothing goes in unless everything does.
    pub all_or_none: bool,
    /// Whether it is history, taken over at set-up, so that it may be older than is taken otherwise.
    pub history: bool,
    /// When, for rows that do not say.
    pub at: Option<String>,
    /// By whom, for rows that do not say.
    pub by: Option<String>,
    /// Where, for rows that do not say.
    pub site: Option<String>,
    /// Whether decimals are written with a comma.
    pub has_decimal_commas: bool,
}

/// What became of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is in.
    In,
    /// It came before, and says the same.
    AlreadyIn,
    /// It is kept aside, and asked about.
    KeptAside,
    /// A person has to do something about it.
    Refused,
    /// It was right, but nothing goes in since others are not.
    NotAlone,
    /// Nothing was written in it, or nothing of it stands.
    Blank,
}

impl Outcome {
    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::AlreadyIn => "already in",
            Self::KeptAside => "kept aside",
            Self::Refused => "refused",
            Self::NotAlone => "not in",
            Self::Blank => "blank",
        }
    }

    /// Whether a person has to do something about it.
    pub const fn needs_a_person(self) -> bool {
        matches!(self, Self::KeptAside | Self::Refused)
    }
}

/// A row, and what to do about it or to know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// What became of it.
    pub outcome: Outcome,
    /// What to do, or to know; empty if there is nothing.
    pub what_to_do: String,
}

impl Judged {
    fn refused(why: impl Into<String>) -> Self {
        Self {
            outcome: Outcome::Refused,
            what_to_do: why.into(),
        }
    }
}

/// The columns that must be there.
pub const fn must(table: SheetTable) -> &'static [&'static str] {
    match table {
        SheetTable::Counts => &["drawer", "part", "counted", "counted_at", "by"],
        SheetTable::Usage => &[
            "row_id", "when", "torch", "part", "qty", "arc", "grinds", "job", "what",
        ],
        SheetTable::Receipts => &["when", "part", "qty"],
        SheetTable::Courses => &["date", "heads", "stations"],
        SheetTable::Parts => &["part", "kind"],
        SheetTable::Offers => &["supplier", "part", "pack_size", "price"],
    }
}

/// The columns that mean something.
const fn means(table: SheetTable) -> &'static [&'static str] {
    match table {
        SheetTable::Counts => &counts::MEANS,
        SheetTable::Usage => &usage::MEANS,
        SheetTable::Receipts => &receipts::MEANS,
        SheetTable::Courses => &courses::MEANS,
        SheetTable::Parts => &parts::MEANS,
        SheetTable::Offers => &offers::MEANS,
    }
}

/// The role that a table needs: counts and use are entries that anybody at the bench makes.
const fn role(table: SheetTable) -> Role {
    match table {
        SheetTable::Counts | SheetTable::Usage => Role::Log,
        SheetTable::Receipts | SheetTable::Courses | SheetTable::Parts | SheetTable::Offers => {
            Role::Keep
        }
    }
}

/// What became of a sheet.
#[derive(Clone, Debug)]
pub struct Pushed {
    /// The sum in one line.
    pub says: String,
    /// What became of each row, in their order.
    pub rows: Vec<Judged>,
}

/// How many rows are judged at a time, so that nobody else waits long and a long sheet takes little memory.
const BATCH: usize = 1_000;

/// Judges a sheet row by row, and records what is right.
///
/// # Errors
/// The sheet cannot be taken as a whole, the caller may not push into the table, or nothing can be written.
pub async fn push(
    context: &Context,
    (caller, into): (Caller, SheetTable),
    table: &Table,
    how: &Pushing,
) -> Result<Pushed, Error> {
    caller.require(if how.history { Role::Keep } else { role(into) })?;
    let zones = sites::zones(context, how.site.as_deref()).await?;
    let reader = Reader::new(table, how, zones);
    // What lies in several drawers adds up, and what is tried or goes in as a whole is judged as one.
    let is_whole = into == SheetTable::Counts || how.only_try || how.all_or_none;
    let batch = if is_whole { table.rows.len() } else { BATCH };
    let mut judged = Vec::with_capacity(table.rows.len());
    for rows in table.rows.chunks(batch.max(1)) {
        let sheet = Batch {
            reader: &reader,
            rows,
        };
        judged.extend(match into {
            SheetTable::Counts => counts::push(context, caller, &sheet).await?,
            SheetTable::Usage => usage::push(context, caller, &sheet).await?,
            SheetTable::Receipts => receipts::push(context, caller, &sheet).await?,
            SheetTable::Courses => courses::push(context, &sheet).await?,
            SheetTable::Parts => parts::push(context, &sheet).await?,
            SheetTable::Offers => offers::push(context, &sheet).await?,
        });
    }
    let mut says = says(&judged, how.only_try);
    let ignored = unknown(table, means(into));
    if !ignored.is_empty() {
        says = format!("{says} Not looked at: {}.", ignored.join(", "));
    }
    Ok(Pushed { says, rows: judged })
}

/// Rows of a sheet that are judged together.
#[derive(Clone, Copy, Debug)]
struct Batch<'t> {
    reader: &'t Reader<'t>,
    rows: &'t [Row],
}

impl<'t> Batch<'t> {
    /// Each row as it can be read.
    fn read<T>(&self, of: impl Fn(Cells<'t>) -> T) -> Vec<T> {
        let rows = self.rows.iter();
        rows.map(|row| of(self.reader.row(row))).collect()
    }

    const fn how(&self) -> &'t Pushing {
        self.reader.how
    }
}

/// What an export adds to every sheet.
const AS_OF: &str = "as_of";

/// `41 rows: 38 in, 1 already in, 2 need you.`
fn says(judged: &[Judged], only_tried: bool) -> String {
    let count = |is: &dyn Fn(Outcome) -> bool| judged.iter().filter(|it| is(it.outcome)).count();
    let blank = count(&|it| it == Outcome::Blank);
    let mut told = format!(
        "{} rows: {} in, {} already in, {} need you.",
        judged.len() - blank,
        count(&|it| it == Outcome::In),
        count(&|it| it == Outcome::AlreadyIn),
        count(&Outcome::needs_a_person)
    );
    if blank > 0 {
        told = format!("{told} {blank} blank.");
    }
    if count(&|it| it == Outcome::NotAlone) > 0 {
        told.push_str(" All or none: nothing has changed.");
    } else if only_tried {
        told.push_str(" Only tried: nothing has changed.");
    }
    told
}

/// Of rows that go in all or none: if one needs a person, the others are not in.
fn none_alone(judged: &mut [Judged]) {
    if judged.iter().any(|it| it.outcome.needs_a_person()) {
        for row in judged.iter_mut().filter(|it| it.outcome == Outcome::In) {
            row.outcome = Outcome::NotAlone;
        }
    }
}

/// The columns that mean nothing here.
fn unknown<'t>(table: &'t Table, known: &[&str]) -> Vec<&'t str> {
    let means = |name: &str| {
        let mut all = known.iter().chain(&COME_BACK).chain([&AS_OF]);
        all.any(|it| it.eq_ignore_ascii_case(name))
    };
    let names = table.columns.iter().map(String::as_str);
    names
        .filter(|name| !name.is_empty() && !means(name))
        .collect()
}
