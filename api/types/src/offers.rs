//! Offers: a supplier sells a part in packs at a price.

use domain::quantity::MONEY_MAX;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation, check_quantity};
use uuid::Uuid;

resource! {
    /// An offer as it should be.
    new NewOffer
    /// An offer.
    view Offer
    given {
        /// The code of the supplier.
        supplier: String,
        /// The code of the part.
        part: String,
        /// How many of the part's unit one pack holds.
        #[schema(example = 10, minimum = 1)]
        pack_size: i64,
        /// Price of one pack in minor units of the supplier's currency.
        #[schema(example = 4200, minimum = 0)]
        price_minor: i64,
    }
    added {
        /// Names the offer in paths.
        id: Uuid,
        /// ISO 4217 code of the supplier's currency.
        currency: String,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of offers.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct OfferPage {
    /// The offers, oldest first.
    pub offers: Vec<Offer>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names an offer.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct OfferPath {
    /// The id of the offer.
    pub offer: String,
}

impl NewOffer {
    /// Checks the figures.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        check_quantity("pack_size", self.pack_size, 1, &mut checker);
        checker.range("price_minor", self.price_minor, 0, MONEY_MAX);
        checker.finish()
    }
}
