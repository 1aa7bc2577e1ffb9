//! Suppliers: who sells, how fast, and at what freight.

use chrono::NaiveTime;
use domain::code::Code;
use domain::quantity::{Currency, MONEY_MAX};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

resource! {
    /// A supplier as it should be.
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
        /// A note of the shop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

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
        let currency = checker.take("currency", Currency::parse(&self.currency));
        let cut_off = checker.take("cut_off", self.cut_off());
        checker.finish()?;
        currency.zip(cut_off).ok_or_else(Vec::new)
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
