//! Movements: the rows of the ledger. Nothing in it is changed or removed; a correction is a new
//! row.

use chrono::{DateTime, FixedOffset, Utc};
use domain::ledger::MovementKind;
use domain::quantity::QUANTITY_MAX;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::entry;
use crate::{Checker, Difference, Violation};

entry! {
    /// A movement to be recorded, other than a receipt, a count or logged use.
    NewMovement {
        /// The code of the part.
        #[schema(example = "collet-2.4")]
        part: String,
        /// `issue`, `return`, `scrap`, `supplier-return`, `adjustment`, `hold` or `release`. A
        /// movement to another site is a transfer. A `release` frees what is on hold of the lot that
        /// it names, or, without one, what was set aside without a lot.
        #[schema(example = "scrap")]
        kind: String,
        /// How many; above zero, but an adjustment may be below.
        #[schema(example = 1)]
        quantity: i64,
        /// Why. An adjustment must say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    }
}

/// A row of the ledger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Movement {
    /// Names the row.
    pub id: Uuid,
    /// The entry that it belongs to; an entry may move more than one part.
    pub entry: Uuid,
    /// `receipt`, `issue`, `return`, `scrap`, `supplier-return`, `adjustment`, `hold`, `release`,
    /// `transfer`, `unlogged-use` or `allocation`.
    pub kind: String,
    /// The code of the part.
    pub part: String,
    /// The site.
    pub site: String,
    /// How many; below zero for a correction, and for what a transfer takes away.
    pub quantity: i64,
    /// Operator group.
    pub group: String,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// The torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torch: Option<String>,
    /// The job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// The lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// The order that was received.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<i64>,
    /// Who did it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The entry that this one takes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reverses: Option<Uuid>,
    /// Whether it was taken back.
    pub reversed: bool,
    /// When it happened, with the offset it was made with.
    pub at: DateTime<FixedOffset>,
    /// When the service heard of it.
    pub received_at: DateTime<Utc>,
}

/// A page of the ledger.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct MovementPage {
    /// The rows, newest received first.
    pub movements: Vec<Movement>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which rows of the ledger.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListMovements {
    /// Only of this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Only of this kind, as `receipt`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "receipt")]
    pub kind: Option<String>,
    /// Only of this torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torch: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// The answer to every entry that was recorded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Recorded {
    /// Names the entry; give it to take the entry back.
    pub entry: Uuid,
    /// The stock of each part it touched, after it.
    pub stock: Vec<StockAfter>,
    /// The answer in one line.
    #[schema(example = "T1: 75 min, 3 grinds. WLa20-2.4: 7 left.")]
    pub says: String,
    /// The cautions that go with what was done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// How what came differs from the order it came for; none if it is what was still to come.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<Difference>,
    /// The numbers of what is asked about it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<i64>,
}

/// What is left of a part after an entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StockAfter {
    /// The code of the part.
    pub part: String,
    /// The site; told where an entry touches more than one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// On hand after the entry.
    pub on_hand: i64,
    /// Available after the entry.
    pub available: i64,
}

/// Notes a quantity below `least` or over the greatest that is kept.
pub fn check_quantity(field: &str, quantity: i64, least: i64, checker: &mut Checker) {
    checker.range(field, quantity, least, QUANTITY_MAX);
}

impl NewMovement {
    /// The kinds that can be told as a movement; the rest come about in other ways.
    const KINDS: [MovementKind; 7] = [
        MovementKind::Issue,
        MovementKind::Return,
        MovementKind::Scrap,
        MovementKind::SupplierReturn,
        MovementKind::Adjustment,
        MovementKind::Hold,
        MovementKind::Release,
    ];

    /// The kind of movement, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<MovementKind, Vec<Violation>> {
        let mut checker = Checker::default();
        let kind = MovementKind::parse(&self.kind)
            .ok()
            .filter(|kind| Self::KINDS.contains(kind));
        match kind {
            None => checker.note(
                "kind",
                format!(
                    "\"{}\" is unknown; give issue, return, scrap, supplier-return, adjustment, hold or release",
                    self.kind
                ),
            ),
            Some(MovementKind::Adjustment) => {
                checker.range("quantity", self.quantity, -QUANTITY_MAX, QUANTITY_MAX);
                if self.quantity == 0 {
                    checker.note("quantity", "0 changes nothing; give how many, or leave it");
                }
                if self.why.as_deref().is_none_or(|why| why.trim().is_empty()) {
                    checker.note("why", "missing; an adjustment must say why");
                }
            }
            Some(_) => check_quantity("quantity", self.quantity, 1, &mut checker),
        }
        checker.text("why", self.why.as_deref(), 400);
        self.circumstances().check(&mut checker);
        checker.finish()?;
        kind.ok_or_else(Vec::new)
    }
}
