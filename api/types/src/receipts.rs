//! Receipts: goods that came in.

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
