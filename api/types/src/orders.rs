//! Orders: draft, placed, part arrived, arrived, cancelled.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::{Checker, Difference, Violation, check_quantity};

/// A line of an order as it should be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewOrderLine {
    /// The code of the part.
    pub part: String,
    /// How many one pack holds; the supplier must offer such a pack.
    #[schema(example = 10, minimum = 1)]
    pub pack_size: i64,
    /// How many packs.
    #[schema(example = 1, minimum = 1)]
    pub packs: i64,
}

/// An order to be drafted.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewOrder {
    /// To whom.
    #[schema(example = "quayhead")]
    pub supplier: String,
    /// The job it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The course it is for; a job or a course, not both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub course: Option<String>,
    /// Where it is delivered; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// What is ordered, each part and pack size once.
    pub lines: Vec<NewOrderLine>,
}

/// A line of an order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OrderLine {
    /// The code of the part.
    pub part: String,
    /// How many one pack holds.
    pub pack_size: i64,
    /// How many packs.
    pub packs: i64,
    /// Packs times pack size.
    pub pieces: i64,
    /// Of those, received.
    pub received: i64,
    /// Price of the packs in minor units.
    pub cost_minor: i64,
}

/// An order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Order {
    /// The number of the order.
    pub number: i64,
    /// `draft`, `placed`, `part arrived`, `arrived` or `cancelled`.
    pub state: String,
    /// To whom.
    pub supplier: String,
    /// The job it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The course it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub course: Option<String>,
    /// Where it is delivered.
    pub site: String,
    /// What is ordered.
    pub lines: Vec<OrderLine>,
    /// Price of the goods in minor units.
    pub goods_minor: i64,
    /// Freight in minor units.
    pub freight_minor: i64,
    /// Goods and freight together.
    pub cost_minor: i64,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// When it was drafted.
    pub created_at: DateTime<Utc>,
    /// When it was placed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub placed_at: Option<DateTime<Utc>>,
    /// In the answer to a delivery: how what came differs from what was to come.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<Difference>,
    /// In the answer to a delivery: that answer in one line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "Order 3, quayhead: arrived.")]
    pub says: Option<String>,
}

/// A page of orders.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct OrderPage {
    /// The orders, newest first.
    pub orders: Vec<Order>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// The orders that were drafted for a job or a course, one a supplier; none if nothing is short.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DraftedOrders {
    /// The drafts.
    pub orders: Vec<Order>,
    /// The answer in one line.
    pub says: String,
}

/// Names an order.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct OrderPath {
    /// The number of the order.
    pub order: String,
}

/// How an order is placed.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct PlaceOrder {
    /// Whether the supplier takes it although its goods are below the least it sends.
    #[serde(default)]
    pub below_minimum: bool,
}

/// What arrived of an order: everything that is still to come, unless lines are given.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewArrival {
    /// What arrived, part by part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lines: Vec<ArrivedLine>,
    /// When; now unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<DateTime<chrono::FixedOffset>>,
    /// Who received it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// How many of a part arrived.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ArrivedLine {
    /// The code of the part.
    pub part: String,
    /// How many of the part's unit (pieces, not packs).
    #[schema(minimum = 1)]
    pub quantity: i64,
}

/// How many lines one order may hold.
pub const ORDER_LINES_MAX: usize = 200;

impl NewOrder {
    /// Checks the lines.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        if let (Some(job), Some(course)) = (&self.job, &self.course) {
            let why = format!("an order is for a job or a course: leave out {job} or {course}");
            checker.note("course", why);
        }
        if self.lines.is_empty() {
            checker.note("lines", "is empty; order at least one pack");
        }
        if self.lines.len() > ORDER_LINES_MAX {
            checker.note(
                "lines",
                format!("{} lines; give at most {ORDER_LINES_MAX}", self.lines.len()),
            );
        }
        for (index, line) in self.lines.iter().enumerate() {
            check_quantity(
                &format!("lines/{index}/pack_size"),
                line.pack_size,
                1,
                &mut checker,
            );
            checker.range(&format!("lines/{index}/packs"), line.packs, 1, 10_000);
            let twice = self.lines[..index].iter().any(|other| {
                other.part.eq_ignore_ascii_case(&line.part) && other.pack_size == line.pack_size
            });
            if twice {
                checker.note(
                    &format!("lines/{index}/part"),
                    "is listed twice; add up the packs",
                );
            }
        }
        checker.finish()
    }
}

impl NewArrival {
    /// Checks the quantities.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        for (index, line) in self.lines.iter().enumerate() {
            check_quantity(
                &format!("lines/{index}/quantity"),
                line.quantity,
                1,
                &mut checker,
            );
            let twice = self.lines[..index]
                .iter()
                .any(|other| other.part.eq_ignore_ascii_case(&line.part));
            if twice {
                checker.note(
                    &format!("lines/{index}/part"),
                    format!(
                        "\"{}\" is listed twice; add up what arrived of it",
                        line.part
                    ),
                );
            }
        }
        checker.text("by", self.by.as_deref(), 80);
        checker.finish()
    }
}
