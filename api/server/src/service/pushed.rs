//! Sheets that are pushed: each row is judged alone, by the same use cases as a single entry, and is told what
//! became of it. A row without `row_id` gets an id that follows from what it says and where it stands, so that
//! pushing a sheet again is harmless.

use chrono_tz::Tz;

use super::keys::Caller;
use super::{Context, Error, codes, instant};
use crate::sheets::reading::Table;

mod answers;
mod cells;
mod counts;
mod entries;
mod receipts;
mod refusals;
mod usage;

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
    /// Nothing was written in it.
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

/// The columns that come back; a sheet that comes a second time has them already.
pub const COME_BACK: [&str; 2] = ["result", "what to do"];

/// A table that can be pushed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Counts.
    Counts,
    /// Use.
    Usage,
    /// Receipts.
    Receipts,
}

impl Kind {
    /// The columns that must be there.
    pub const fn must(self) -> &'static [&'static str] {
        match self {
            Self::Counts => &["drawer", "part", "counted", "counted_at", "by"],
            Self::Usage => &[
                "row_id", "when", "torch", "part", "qty", "arc", "grinds", "job", "what",
            ],
            Self::Receipts => &["when", "part", "qty"],
        }
    }

    const fn means(self) -> &'static [&'static str] {
        match self {
            Self::Counts => &counts::MEANS,
            Self::Usage => &usage::MEANS,
            Self::Receipts => &receipts::MEANS,
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

/// Judges a sheet row by row, and records what is right.
///
/// # Errors
/// The sheet cannot be taken as a whole, or nothing can be written.
pub async fn push(
    context: &Context,
    (caller, kind): (Caller, Kind),
    table: &Table,
    how: &Pushing,
) -> Result<Pushed, Error> {
    let rows = match kind {
        Kind::Counts => counts::push(context, caller, table, how).await?,
        Kind::Usage => usage::push(context, caller, table, how).await?,
        Kind::Receipts => receipts::push(context, caller, table, how).await?,
    };
    let mut says = says(&rows, how.only_try);
    let ignored = unknown(table, kind.means());
    if !ignored.is_empty() {
        says = format!("{says} Not looked at: {}.", ignored.join(", "));
    }
    Ok(Pushed { says, rows })
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

/// The zone of each site that rows name, and of the site for those that name none.
async fn zones(context: &Context, table: &Table, how: &Pushing) -> Result<cells::Zones, Error> {
    let db = context.store.read();
    let first = codes::site_or_first(db, "?site", how.site.as_deref()).await?;
    let mut zones = cells::Zones::new(instant::site_zone(&first.zone));
    if let Some(place) = table.column("site") {
        let named = table.rows.iter().filter_map(|row| row.cells.get(place));
        let named: std::collections::BTreeSet<&str> = named.map(String::as_str).collect();
        for site in crate::store::sites::find_many(db, named).await? {
            let zone: Tz = instant::site_zone(&site.zone);
            zones.add(&site.code, zone);
        }
    }
    Ok(zones)
}
