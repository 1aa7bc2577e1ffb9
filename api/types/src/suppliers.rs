//! Suppliers: who sells, how fast, and at what freight.

use chrono::{NaiveDate, NaiveTime};
use domain::calendar::OpenDays;
use domain::code::Code;
use domain::quantity::{Currency, MONEY_MAX};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

resource! {
    /// A supplier as it should be.
    #[derive(Default)]
    new NewSupplier
    /// A supplier.
    view Supplier
    given {
        /// The short name of the supplier.
        #[schema(example = "quayhead")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// ISO 4217 code of the currency it sells in.
        #[schema(example = "CAD")]
        currency: String,
        /// Freight for one order, in minor units of the currency.
        #[serde(default)]
        #[schema(example = 900, minimum = 0)]
        freight_minor: i64,
        /// Open days (Monday to Friday) from order to arrival.
        #[schema(example = 5, minimum = 0, maximum = 365)]
        lead_time_days: i64,
        /// Local time, `HH:MM`, after which an order counts as the next open day's; noon unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "12:00")]
        cut_off: Option<String>,
        /// The least value of the goods of one order, without freight, in minor units.
        #[serde(default, skip_serializing_if = "is_zero")]
        #[schema(example = 2500, minimum = 0)]
        minimum_minor: i64,
        /// Goods of this value or more are sent without freight, in minor units; never unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 15000, minimum = 0)]
        free_over_minor: Option<i64>,
        /// Days on which it is shut, beside Saturdays and Sundays.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        closures: Vec<Closure>,
        /// A note of the shop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// Days on which a supplier is shut, both included.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Closure {
    /// The first day.
    #[schema(example = "2026-12-25")]
    pub first: NaiveDate,
    /// The last day; the first unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "2027-01-01")]
    pub last: Option<NaiveDate>,
    /// Why, for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "year end")]
    pub note: Option<String>,
}

impl Closure {
    /// The last day.
    pub fn last(&self) -> NaiveDate {
        self.last.unwrap_or(self.first)
    }
}

/// A supplier has no more closures than this.
pub const CLOSURES_MAX: usize = 60;

/// A page of suppliers.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct SupplierPage {
    /// The suppliers by code.
    pub suppliers: Vec<Supplier>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a supplier.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct SupplierPath {
    /// The code of the supplier.
    pub supplier: String,
}

/// The cut-off of a supplier that has none of its own.
pub const CUT_OFF_DEFAULT: NaiveTime = NaiveTime::from_hms_opt(12, 0, 0).expect("noon exists");

impl NewSupplier {
    /// The currency and the cut-off, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(Currency, NaiveTime), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("supplier", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.text("note", self.note.as_deref(), 400);
        checker.range("freight_minor", self.freight_minor, 0, MONEY_MAX);
        checker.range("lead_time_days", self.lead_time_days, 0, 365);
        checker.range("minimum_minor", self.minimum_minor, 0, MONEY_MAX);
        if let Some(over) = self.free_over_minor {
            checker.range("free_over_minor", over, 0, MONEY_MAX);
        }
        self.check_closures(&mut checker);
        let currency = checker.take("currency", Currency::parse(&self.currency));
        let cut_off = checker.take("cut_off", self.cut_off());
        checker.finish()?;
        currency.zip(cut_off).ok_or_else(Vec::new)
    }

    /// Each closure ends, and some day of each year from the first of them on is left open.
    fn check_closures(&self, checker: &mut Checker) {
        if self.closures.len() > CLOSURES_MAX {
            checker.note(
                "closures",
                format!(
                    "{} closures; give at most {CLOSURES_MAX}, and leave out those that are past",
                    self.closures.len()
                ),
            );
            return;
        }
        for (index, closure) in self.closures.iter().enumerate() {
            checker.text(
                &format!("closures/{index}/note"),
                closure.note.as_deref(),
                80,
            );
        }
        let days = self.closures.iter().map(|it| (it.first, it.last()));
        let Some(open) = checker.take("closures", OpenDays::without(days)) else {
            return;
        };
        let found: Result<Vec<_>, _> = self
            .closures
            .iter()
            .map(|it| open.open_from(it.first))
            .collect();
        checker.take("closures", found);
    }

    fn cut_off(&self) -> Result<NaiveTime, String> {
        let Some(text) = self.cut_off.as_deref() else {
            return Ok(CUT_OFF_DEFAULT);
        };
        NaiveTime::parse_from_str(text, "%H:%M").map_err(|_| {
            format!("\"{text}\" is not a time of day; give hours and minutes, such as 12:00")
        })
    }
}

/// For fields that are left out where they are nothing.
#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde asks with a reference"
)]
fn is_zero(number: &i64) -> bool {
    *number == 0
}
