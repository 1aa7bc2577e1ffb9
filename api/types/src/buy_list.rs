//! The buy list: what is watched of the stock of a site, as it stands, and what to buy of it.

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// What to buy for a site: one line a part, or for parts that are watched together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BuyList {
    /// The site.
    pub site: String,
    /// The instant that the figures stand for.
    pub as_of: DateTime<Utc>,
    /// The lines: what is to be bought first by when, then what is not.
    pub lines: Vec<BuyLine>,
    /// Of what nothing can be told, and why.
    pub cannot_tell: Vec<String>,
}

/// The stock of a part, or of several that are watched together, and what to buy of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BuyLine {
    /// The part; absent for several that are watched together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// What is watched: the code of the part, or a filter.
    #[schema(example = "WLa20-2.4")]
    pub subject: String,
    /// It in words.
    pub name: String,
    /// `piece`, `ml` or `g`.
    pub unit: String,
    /// `order` where it is at its order point, `on order` where enough is to come, else `enough`.
    #[schema(example = "order")]
    pub state: String,
    /// In the drawers.
    pub on_hand: i64,
    /// Of those, neither promised nor on hold.
    pub available: i64,
    /// On order.
    pub on_order: i64,
    /// The order point: low at an inventory position (available and on order) of so many.
    pub order_point: i64,
    /// The chance of being short before the next delivery.
    pub chance: f64,
    /// Expected use in a week; absent where nothing of it is on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_week: Option<f64>,
    /// What to buy, where it is at its order point and somebody sells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub purchase: Option<Purchase>,
    /// What it says in one line.
    pub says: String,
}

/// Whole packs from the supplier who delivers first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Purchase {
    /// The part.
    pub part: String,
    /// The supplier.
    pub supplier: String,
    /// Packs.
    pub packs: i64,
    /// What a pack holds, in the unit of the part.
    pub pack_size: i64,
    /// The stated price of a pack in minor units, without breaks and freight.
    pub price_minor: i64,
    /// ISO 4217 code.
    pub currency: String,
    /// The day on which an order of now comes.
    pub arrives: NaiveDate,
    /// The last local time at which an order comes before the stock may be used up; absent where nothing of its use
    /// is on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_by: Option<NaiveDateTime>,
}

/// Which buy list.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetBuyList {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Only what is watched with this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Also what is enough or on order.
    #[serde(default)]
    #[param(required = false)]
    pub all: bool,
}
