//! Offers: a supplier sells a part in packs at a price.

use chrono::NaiveDate;
use domain::quantity::MONEY_MAX;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation, check_quantity};
use uuid::Uuid;

resource! {
    /// An offer as it should be.
    #[derive(Default)]
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
        /// Lower prices of a pack from so many packs on.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        breaks: Vec<PriceBreak>,
        /// The supplier has none before this day; it has some unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "2027-01-08")]
        none_until: Option<NaiveDate>,
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

/// A lower price of a pack.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceBreak {
    /// From so many packs on, all of them.
    #[schema(example = 3, minimum = 2)]
    pub packs_min: i64,
    /// The price of one pack in minor units.
    #[schema(example = 3900, minimum = 0)]
    pub price_minor: i64,
}

/// An offer has no more price breaks than this.
pub const BREAKS_MAX: usize = 8;

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
        self.check_breaks(&mut checker);
        checker.finish()
    }

    /// More packs, and less for each.
    fn check_breaks(&self, checker: &mut Checker) {
        if self.breaks.len() > BREAKS_MAX {
            let count = self.breaks.len();
            checker.note(
                "breaks",
                format!("{count} price breaks; give at most {BREAKS_MAX}"),
            );
            return;
        }
        let (mut packs, mut price) = (1, self.price_minor);
        for (index, lower) in self.breaks.iter().enumerate() {
            if lower.packs_min <= packs {
                checker.note(
                    &format!("breaks/{index}/packs_min"),
                    format!(
                        "{} is not above {packs}; list the breaks by rising packs, from 2 on",
                        lower.packs_min
                    ),
                );
            }
            if !(0..price).contains(&lower.price_minor) {
                checker.note(
                    &format!("breaks/{index}/price_minor"),
                    format!(
                        "{} is not below {price}; more packs cost less each, or it is no break",
                        lower.price_minor
                    ),
                );
            }
            (packs, price) = (lower.packs_min, lower.price_minor);
        }
    }
}
