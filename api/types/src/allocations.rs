//! Allocations: pieces promised to a job. What is promised to one job is available to no other.

use chrono::{DateTime, Utc};
use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::{Checker, Circumstances, StockAfter, Violation, check_quantity};

/// How many pieces of a part a job is promised, in all: the number replaces what was promised before,
/// and 0 frees all of it. What is issued for the job comes off the promise.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAllocation {
    /// The job.
    #[schema(example = "R-118")]
    pub job: String,
    /// The code of the part.
    #[schema(example = "WLa20-2.4")]
    pub part: String,
    /// How many are promised; 0 for none.
    #[schema(example = 8, minimum = 0)]
    pub quantity: i64,
    /// The site; that of the job unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Who promises, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// The answer to an allocation.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Allocated {
    /// Names the entry.
    pub entry: Uuid,
    /// The job.
    pub job: String,
    /// The site.
    pub site: String,
    /// How many are promised now.
    pub quantity: i64,
    /// How many were promised before.
    pub before: i64,
    /// The stock of the part, after it.
    pub stock: StockAfter,
    /// The answer in one line.
    #[schema(example = "8 WLa20-2.4 promised to R-118. WLa20-2.4: 1 available.")]
    pub says: String,
}

/// Pieces promised to a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Allocation {
    /// The job.
    pub job: String,
    /// The code of the part.
    pub part: String,
    /// The site.
    pub site: String,
    /// How many are promised and not issued yet.
    pub quantity: i64,
    /// When it was last changed, by a promise or an issue.
    pub changed_at: DateTime<Utc>,
}

/// A page of allocations.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct AllocationPage {
    /// The allocations, by job, part and site.
    pub allocations: Vec<Allocation>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which allocations.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListAllocations {
    /// Only of this job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
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

impl NewAllocation {
    /// Checks the names and the quantity.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("job", Code::parse("job", &self.job));
        check_quantity("quantity", self.quantity, 0, &mut checker);
        self.circumstances().check(&mut checker);
        checker.finish()
    }

    /// Where and by whom; a promise is dated when it is received.
    pub fn circumstances(&self) -> Circumstances<'_> {
        Circumstances {
            site: self.site.as_deref(),
            job: Some(&self.job),
            by: self.by.as_deref(),
            note: self.note.as_deref(),
            ..Circumstances::default()
        }
    }
}
