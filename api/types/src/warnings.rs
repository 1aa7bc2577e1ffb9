//! Warnings: what is low or not permitted, why, and what to do next; and what people answer to them.

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::{Checker, Counted, Violation, check_quantity};

/// One episode of something that is watched.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Warning {
    /// Names it in paths.
    pub id: Uuid,
    /// The site.
    pub site: String,
    /// `order-point`, `order-by`, `kit`, `torch-wear`, `lot-on-hold`, `barred-received` or `barred-used`.
    #[schema(example = "order-point")]
    pub kind: String,
    /// What it is about, in a word.
    #[schema(example = "WLa20-1.6")]
    pub subject: String,
    /// The part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The course.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub course: Option<String>,
    /// `open` (not told yet), `told`, `quiet-until` or `closed`.
    #[schema(example = "told")]
    pub state: String,
    /// Of stock, where it stands: `enough`, `order`, `on order` or `short`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "order")]
    pub stock: Option<String>,
    /// What, number, reason, next action, by when.
    #[schema(
        example = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week; delivery takes 1 week. Next: 1 pack of 10, Quayhead, by Mon 22 Jun."
    )]
    pub says: String,
    /// The figures behind it, at the last look at which they changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub figures: Option<WarningFigures>,
    /// Where it is told.
    pub channels: Vec<String>,
    /// When it opened.
    pub opened_at: DateTime<Utc>,
    /// When it was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told_at: Option<DateTime<Utc>>,
    /// When it was told again, since a stop had become much likelier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub escalated_at: Option<DateTime<Utc>>,
    /// Until when it is silent at the latest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quiet_until: Option<DateTime<Utc>>,
    /// With so many on hand or fewer it is not silent any more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quiet_on_hand: Option<i64>,
    /// Since when it waits, since the weekly limit had no room for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_back_at: Option<DateTime<Utc>>,
    /// When somebody said that it was seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acknowledged_at: Option<DateTime<Utc>>,
    /// Who said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acknowledged_by: Option<String>,
    /// When it closed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed_at: Option<DateTime<Utc>>,
    /// What was told in it, oldest first; in the answer about one warning.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub messages: Vec<WarningMessage>,
}

/// The figures behind a warning about stock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WarningFigures {
    /// Pieces in drawers.
    pub on_hand: i64,
    /// Of those, neither promised nor on hold.
    pub available: i64,
    /// Pieces on order.
    pub on_order: i64,
    /// The order point: low at an inventory position (available and on order) of so many.
    pub order_point: i64,
    /// With so many available it is over.
    pub clear_level: i64,
    /// The chance of being short before the next delivery.
    pub chance: f64,
    /// The next delivery: of what is on order, else of an order of now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delivery: Option<NaiveDate>,
    /// The last time at which an order is likely to be there before all is used up, local to the site;
    /// absent where that is not known, or where it is on order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "2026-06-22T00:00:00")]
    pub order_by: Option<NaiveDateTime>,
    /// Expected use in a week.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_week: Option<f64>,
}

/// What was told in a warning.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WarningMessage {
    /// `told`, `escalated`, `digest`, `acknowledged`, `acted` (its job or course was moved, made smaller or
    /// closed) or `closed`.
    #[schema(example = "told")]
    pub kind: String,
    /// When.
    pub at: DateTime<Utc>,
    /// The words.
    pub says: String,
}

/// A page of warnings.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct WarningPage {
    /// The warnings, newest first.
    pub warnings: Vec<Warning>,
    /// On the first page of those that stand: of which parts nothing can be said, since no use is on record for
    /// so long, though their torches ran, that it is likely not logged. Each says what to do.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cannot_tell: Vec<String>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a warning.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct WarningPath {
    /// The id of the warning.
    pub warning: String,
}

/// Which warnings are asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListWarnings {
    /// Only of this site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// `open` for all that stand (unless told), `closed`, or `all`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "open")]
    pub state: Option<String>,
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

/// Silence for a warning. It always has an end.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewQuiet {
    /// Until when at the latest: an instant (RFC 3339), `tomorrow` or `monday` (from the start of that day
    /// at the site); at most 92 days ahead.
    #[schema(example = "monday")]
    pub until: String,
    /// Not any longer than so many are on hand, or fewer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = 2, minimum = 0)]
    pub on_hand: Option<i64>,
}

/// That a warning was seen.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAcknowledgement {
    /// By whom, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "instructor")]
    pub by: Option<String>,
}

/// The answer to a wrong warning: how many there are.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWarningCount {
    /// How many were counted of its part at its site; none is 0.
    #[schema(example = 12, minimum = 0)]
    pub counted: i64,
    /// By whom, as the shop calls them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "helper")]
    pub by: Option<String>,
}

/// What became of such a count.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WarningCounted {
    /// The count as it was recorded.
    pub counted: Counted,
    /// The warning afterwards.
    pub warning: Warning,
}

/// How many warnings were acted on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WarningSelfCheck {
    /// The site.
    pub site: String,
    /// The weeks that it is over, the last ones.
    pub weeks: i64,
    /// Warnings that were told in them, those about safety not counted.
    pub told: i64,
    /// Of those, the ones after which something was ordered, received, counted or fitted, or their work moved, made
    /// smaller or closed, before they closed.
    pub acted_on: i64,
    /// The share of them; absent where none was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
    /// Whether fewer than half were acted on, so that higher limits are proposed.
    pub propose_raising: bool,
    /// The same in words.
    pub says: String,
}

/// Of which site the self-check is.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetWarningSelfCheck {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
}

impl NewQuiet {
    /// Checks all but the end, which needs the present and the zone of the site.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if self.until.trim().is_empty() {
            let why = "missing; a silence has an end: give an instant, tomorrow or monday";
            checker.note("until", why);
        }
        if let Some(pieces) = self.on_hand {
            checker.range("on_hand", pieces, 0, 1_000_000);
        }
        checker.finish()
    }
}

impl NewAcknowledgement {
    /// Everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()
    }
}

impl NewWarningCount {
    /// Everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        check_quantity("counted", self.counted, 0, &mut checker);
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()
    }
}
