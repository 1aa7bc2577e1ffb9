//! Receipts: goods that came in.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::shape::entry;
use crate::{Checker, Violation, check_quantity};

entry! {
    /// Goods that came in. A receipt is a fact: it is recorded whatever was ordered.
    NewReceipt {
        /// The code of the part.
        #[schema(example = "WLa20-2.4")]
        part: String,
        /// How many of the part's unit (pieces, not packs).
        #[schema(example = 10, minimum = 1)]
        quantity: i64,
        /// The order it belongs to; what the order still waits for goes down by as much.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        order: Option<i64>,
    }
}

/// How goods that came differ from the order they came for. They are recorded all the same.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Difference {
    /// The code of the part that came.
    #[schema(example = "WLa20-2.5")]
    pub part: String,
    /// `short`, `over`, `wrong size` or `wrong part`. The wrong size or part fills no line.
    #[schema(example = "wrong size")]
    pub kind: String,
    /// The code of the part that it seems to have come for, if it is another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "WLa20-2.4")]
    pub instead_of: Option<String>,
    /// How many the order still waited for: of the part itself, or of the one it came for.
    #[schema(example = 10)]
    pub ordered: i64,
    /// How many came.
    #[schema(example = 10)]
    pub came: i64,
    /// The same in words.
    pub says: String,
}

impl NewReceipt {
    /// Checks the figures and the circumstances.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        check_quantity("quantity", self.quantity, 1, &mut checker);
        self.circumstances().check(&mut checker);
        checker.finish()
    }
}
