//! Fits: parts put on a torch, or tried on it; whether they go together at their seats, and what would
//! mend it where they do not.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Violation};

/// A front end has seven parts.
pub const FIT_PARTS_MAX: usize = 20;

/// Parts to fit. Each takes the place of what sits there; the rest of the set-up stays.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewFit {
    /// The codes of the parts; or a kind, such as `o-ring`, for a new one of that which is fitted.
    #[schema(example = json!(["cup-7"]))]
    pub parts: Vec<String>,
    /// The torch that lends them: it is incomplete until they are put back, which is noted. Lending a
    /// borrowed part back puts it back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "T4")]
    pub from: Option<String>,
    /// The job that it is for: what its procedure does not permit is neither fitted nor offered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
}

/// How to fit.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct FitQuery {
    /// 1 to say whether they fit and to change nothing.
    #[serde(default, rename = "try", skip_serializing_if = "Option::is_none")]
    #[param(minimum = 0, maximum = 1)]
    pub try_only: Option<u8>,
}

/// Which parts to try, in an address.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct TryFit {
    /// The codes of the parts, with commas between them.
    #[param(example = "body-2.4,insulator-std,cup-7")]
    pub parts: String,
    /// The job that it is for: what its procedure does not permit is not offered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
}

impl From<&TryFit> for NewFit {
    fn from(told: &TryFit) -> Self {
        let parts = told
            .parts
            .split(',')
            .map(str::trim)
            .filter(|part| !part.is_empty());
        Self {
            parts: parts.map(str::to_owned).collect(),
            from: None,
            job: told.job.clone(),
        }
    }
}

/// One thing that keeps parts from being a whole set-up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FitFault {
    /// `missing` (nothing sits there), `mismatch` (another seat), `crowded` (several parts for one
    /// seat), `loose` (what it sits on is missing), `too long` (the rod under the cap), `seats unknown`
    /// or `not fitted` (a kind that no torch takes).
    #[schema(example = "mismatch")]
    pub what: String,
    /// The joint: `back-cap`, `o-ring`, `front-end`, `collet`, `electrode`, `insulator` or `cup`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "cup")]
    pub joint: Option<String>,
    /// The parts that are meant.
    pub parts: Vec<String>,
    /// The part that offers the seat; absent where it is the head of the torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// The seat that the part takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "cup: large standard")]
    pub takes: Option<String>,
    /// The seat that is offered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "cup: large gas-lens")]
    pub offered: Option<String>,
    /// The same in a sentence.
    pub says: String,
}

/// A part that would do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FitCandidate {
    /// The code of the part.
    pub part: String,
    /// The part in words.
    pub name: String,
    /// How many are available at the torch's site.
    pub available: i64,
}

/// One part to put in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FitChoice {
    /// The seat that has to be taken.
    #[schema(example = "cup: large gas-lens")]
    pub seat: String,
    /// Its diameter, where it goes by one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<String>,
    /// The parts that take it, any of which will do; none if the shop has set up no such part.
    pub parts: Vec<FitCandidate>,
}

/// One way to a whole set-up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FitWay {
    /// Whether what is available makes it.
    pub in_stock: bool,
    /// What stays, rear to tip.
    pub keep: Vec<String>,
    /// What comes off.
    pub remove: Vec<String>,
    /// What goes in.
    pub choices: Vec<FitChoice>,
    /// The same in a sentence.
    pub says: String,
}

/// Whether parts fit on a torch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FitCheck {
    /// The torch.
    pub torch: String,
    /// Its site, whose stock counts.
    pub site: String,
    /// `complete`, `incomplete`, `does not fit`, `not permitted` or `cannot tell`.
    #[schema(example = "does not fit")]
    pub state: String,
    /// Whether the parts were fitted; a trial fits nothing.
    pub fitted: bool,
    /// The set-up with them, rear to tip.
    pub parts: Vec<String>,
    /// What is missing or does not go together.
    pub faults: Vec<FitFault>,
    /// Every way out that changes no more than it must, the least change first.
    pub ways: Vec<FitWay>,
    /// The answer in sentences.
    pub says: Vec<String>,
    /// What the answer takes for granted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumes: Vec<String>,
    /// The cautions that go with changing parts.
    pub cautions: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
}

/// A part that one torch lent to another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Borrowing {
    /// The number of the borrowing.
    pub number: i64,
    /// The part.
    pub part: String,
    /// The torch that lent it, and is incomplete without it.
    pub from: String,
    /// The torch that has it.
    pub to: String,
    /// Since when.
    pub borrowed_at: DateTime<Utc>,
    /// Until when; absent while it is out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<DateTime<Utc>>,
    /// How it ended: `put back`, or `replaced` by another part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended_as: Option<String>,
}

/// Which borrowings to list.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListBorrowings {
    /// `true` for those that are out, `false` for those that ended; all unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub open: Option<bool>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// A page of borrowings.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct BorrowingPage {
    /// The borrowings, the newest first.
    pub borrowings: Vec<Borrowing>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

impl NewFit {
    /// Checks that parts are named, each once.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if self.parts.is_empty() {
            checker.note("parts", "is empty; name at least one part");
        }
        if self.parts.len() > FIT_PARTS_MAX {
            let count = self.parts.len();
            checker.note(
                "parts",
                format!("{count} parts; give at most {FIT_PARTS_MAX}"),
            );
        }
        for (index, part) in self.parts.iter().enumerate() {
            if self.parts[..index]
                .iter()
                .any(|other| other.eq_ignore_ascii_case(part))
            {
                let why = format!("\"{part}\" is fitted twice; a torch takes one of it");
                checker.note(&format!("parts/{index}"), why);
            }
        }
        checker.finish()
    }
}
