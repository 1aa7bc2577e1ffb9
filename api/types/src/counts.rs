//! Counts: a statement of fact about a drawer at an instant. A count beats every calculation.

use chrono::{DateTime, FixedOffset, Utc};
use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::entry;
use crate::{Checker, KeptAside, Problem, Violation, check_quantity};

entry! {
    /// What was counted.
    NewCount {
        /// The id that the device or the sheet gave the count. A batch needs one for each; for a
        /// single count the `Idempotency-Key` header is the id.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(max_length = 80)]
        id: Option<String>,
        /// The code of the part.
        #[schema(example = "cup-7-gas-lens")]
        part: String,
        /// How many there were; none is 0.
        #[schema(example = 5, minimum = 0)]
        counted: i64,
        /// The drawer it was counted in. The part must lie there and nowhere else at the site: a
        /// batch adds up the drawers of a part, a single count of one of them would be partial.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "14")]
        drawer: Option<String>,
    }
}

/// Many counts. Each is judged alone; a repeat is harmless, since each has its own id. Counts of one
/// part in several drawers of a site add up to one count of the part there.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCountBatch {
    /// The counts, up to 1000, each with its `id`.
    #[schema(max_items = 1000)]
    pub counts: Vec<NewCount>,
    /// Judge everything and change nothing.
    #[serde(default, rename = "try")]
    pub only_try: bool,
}

/// What became of a batch, count by count.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CountBatch {
    /// The sum in one line.
    #[schema(example = "41 rows: 38 in, 1 already in, 2 need you.")]
    pub says: String,
    /// Whether it was only tried, so that nothing has changed.
    #[serde(rename = "try")]
    pub only_tried: bool,
    /// Recorded now.
    pub recorded: u64,
    /// Recorded before, by an earlier sending.
    pub already_in: u64,
    /// Kept aside, since their dates are out of bounds; see the question of each.
    pub kept_aside: u64,
    /// Refused; see the problem of each.
    pub refused: u64,
    /// One line a count, in the order they were sent.
    pub rows: Vec<CountOutcome>,
}

/// What became of one count of a batch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CountOutcome {
    /// The id that was sent.
    pub id: String,
    /// `counted`, `already in`, `kept aside` or `refused`.
    pub result: String,
    /// What was recorded: of the part at the site, all its drawers together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted: Option<Counted>,
    /// What is asked about it, if it was kept aside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept_aside: Option<KeptAside>,
    /// Why it was refused, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub problem: Option<Problem>,
}

/// A count beside what the book said of the same instant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Counted {
    /// Names the entry; give it to take the count back.
    pub entry: Uuid,
    /// The code of the part.
    pub part: String,
    /// The site.
    pub site: String,
    /// What was counted.
    pub counted: i64,
    /// What the book said of that instant.
    pub book: i64,
    /// Counted less book.
    pub variance: i64,
    /// On hand now: the newest count and what moved after it.
    pub on_hand: i64,
    /// The answer in one line.
    pub says: String,
    /// The numbers of what is asked about it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<i64>,
}

/// A count on record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Count {
    /// Names the entry.
    pub entry: Uuid,
    /// The code of the part.
    pub part: String,
    /// The site.
    pub site: String,
    /// What was counted.
    pub counted: i64,
    /// What the book said when the count came in.
    pub book: i64,
    /// Counted less the book of that instant, by what is known now: entries that came in later
    /// explain it.
    pub variance: i64,
    /// Who counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// Whether it was taken back.
    pub reversed: bool,
    /// When it was counted, with the offset it was made with.
    pub at: DateTime<FixedOffset>,
    /// When the service heard of it.
    pub received_at: DateTime<Utc>,
}

/// A page of counts.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct CountPage {
    /// The counts, newest received first.
    pub counts: Vec<Count>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which counts.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListCounts {
    /// Only of this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl NewCount {
    /// Checks the figures and the circumstances.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if self.counted < 0 {
            checker.note(
                "counted",
                format!("{}: a count cannot be negative", self.counted),
            );
        } else {
            check_quantity("counted", self.counted, 0, &mut checker);
        }
        checker.text("id", self.id.as_deref(), 80);
        checker.take_opt("drawer", self.drawer.as_deref(), |drawer| {
            Code::parse("drawer", drawer)
        });
        self.circumstances().check(&mut checker);
        checker.finish()
    }
}
