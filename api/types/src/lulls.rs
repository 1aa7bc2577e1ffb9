//! Lulls: days on which a site does less work than usual, down to none when it is shut, or more.

use chrono::NaiveDate;
use domain::lull::{Lull as Days, LullError, Share};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::resource;
use crate::{Checker, Violation};

/// The longest note, in characters.
const NOTE_MAX: usize = 200;

resource! {
    /// A lull as it should be.
    #[derive(Default)]
    new NewLull
    /// A lull.
    view Lull
    given {
        /// The site; the first site unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "shop")]
        site: Option<String>,
        /// The first day, in the site's zone.
        #[schema(example = "2026-12-24")]
        first: NaiveDate,
        /// The last day, at most 366 days in all. No day has two lulls at one site.
        #[schema(example = "2027-01-03")]
        last: NaiveDate,
        /// How much of the usual work is done on each of these days: 0 when the site is shut, 0.5 for
        /// half of it, 2 for twice as much.
        #[schema(example = 0.0, minimum = 0, maximum = 5)]
        share: f64,
        /// A note.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "shut over the holidays")]
        note: Option<String>,
    }
    added {
        /// Names the lull in paths.
        id: Uuid,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of lulls.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct LullPage {
    /// The lulls of the site by their first day.
    pub lulls: Vec<Lull>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a lull.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct LullPath {
    /// The id of the lull.
    pub lull: String,
}

/// Which lulls are asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListLulls {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl NewLull {
    /// The days and their share, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<Days, Vec<Violation>> {
        let mut checker = Checker::default();
        let share = checker.take("share", Share::new(self.share));
        // The days are judged all the same when the share is wrong, so that all is told at once.
        let days = Days::new(self.first, self.last, share.unwrap_or(Share::USUAL));
        if let Err(error) = &days {
            let field = match error {
                LullError::Day(day) if *day == self.first => "first",
                LullError::Day(_) | LullError::Reversed { .. } | LullError::TooLong { .. } => {
                    "last"
                }
                LullError::Share(_) => "share",
            };
            checker.note(field, error);
        }
        checker.text("note", self.note.as_deref(), NOTE_MAX);
        checker.finish()?;
        days.map_err(|_| Vec::new())
    }
}
