//! Sites: shop, school, truck. Each has its time zone, in which days and weeks are counted, and its
//! rule: which electrode classes are barred there.

use chrono::{NaiveTime, Weekday};
use domain::code::Code;
use domain::site_rule::{Barred, SiteRule};
use domain::size::RodLength;
use domain::warning::{QuietHours, WEEKLY_LIMIT_MAX};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// How much a site can bar: every class, and the word for all thoriated ones.
const BARRED_MAX: usize = 13;

/// The code of the site that is there from the start.
pub const DEFAULT_SITE: &str = "shop";

resource! {
    /// A site as it should be.
    #[derive(Default)]
    new NewSite
    /// A site.
    view Site
    given {
        /// The short name used everywhere.
        #[schema(example = "shop")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// IANA time zone.
        #[schema(example = "America/Halifax")]
        zone: String,
        /// The electrode classes that are barred here: `thoriated` for all of them with thoria, or
        /// classes such as `WTh20`. An electrode whose class is not known is barred wherever any
        /// class is that it might be. What is barred is held, and cannot be planned, ordered,
        /// issued or moved in.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(example = json!(["thoriated"]), max_items = 13)]
        barred: Vec<String>,
        /// Who is told when something barred is used, as the shop calls them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "instructor")]
        responsible: Option<String>,
        /// The shortest rod that a collet still grips here; unless told, a starting assumption by the
        /// body family of the torch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "35 mm")]
        discard_length: Option<String>,
        /// When nothing but safety is told here; never unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        quiet_hours: Option<SiteQuietHours>,
        /// Messages in seven days, those about safety not counted; 5 unless told. What does not find room
        /// waits for the digest.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 5, minimum = 0, maximum = 1000)]
        weekly_limit: Option<i64>,
        /// When the weekly digest is told; Sunday 18:00 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        digest: Option<SiteDigest>,
    }
    added {
        /// The cautions that go with a rule that was just set.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cautions: Vec<String>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// Hours in which a site wants to hear nothing but safety, in its own time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteQuietHours {
    /// From then on.
    #[schema(example = "22:00")]
    pub from: String,
    /// Until then; on the next day where it is the earlier one.
    #[schema(example = "07:00")]
    pub to: String,
    /// The weekdays on which they begin, as `mon` to `sun`; all unless told.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(example = json!(["mon", "tue"]), max_items = 7)]
    pub weekdays: Vec<String>,
}

/// When the weekly digest of a site is told, in its own time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteDigest {
    /// The weekday, as `mon` to `sun`.
    #[schema(example = "sun")]
    pub weekday: String,
    /// The time.
    #[schema(example = "18:00")]
    pub time: String,
}

/// A page of sites.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct SitePage {
    /// The sites by code.
    pub sites: Vec<Site>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a site.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct SitePath {
    /// The code of the site.
    pub site: String,
}

impl NewSite {
    /// Checks all but the zone, which is looked up by the service; the rule and the discard length.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(SiteRule, Option<RodLength>), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("site", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        checker.text("responsible", self.responsible.as_deref(), 80);
        if self.barred.len() > BARRED_MAX {
            let given = self.barred.len();
            checker.note("barred", format!("{given} words; give each class once"));
        }
        let mut barred = Vec::new();
        for (index, word) in self.barred.iter().enumerate() {
            barred.extend(checker.take(&format!("barred/{index}"), Barred::parse(word)));
        }
        let discard = checker.take_opt(
            "discard_length",
            self.discard_length.as_deref(),
            RodLength::parse,
        );
        checker.take_opt(
            "quiet_hours",
            self.quiet_hours.as_ref(),
            SiteQuietHours::check,
        );
        if let Some(limit) = self.weekly_limit {
            checker.range("weekly_limit", limit, 0, WEEKLY_LIMIT_MAX);
        }
        checker.take_opt("digest", self.digest.as_ref(), SiteDigest::check);
        checker.finish()?;
        Ok((SiteRule::new(barred), discard))
    }
}

impl SiteQuietHours {
    /// The hours as values.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn check(&self) -> Result<QuietHours, String> {
        let (from, to) = (time(&self.from)?, time(&self.to)?);
        let weekdays: Result<Vec<Weekday>, String> =
            self.weekdays.iter().map(|day| weekday(day)).collect();
        let weekdays = Some(weekdays?).filter(|days| !days.is_empty());
        let every = || WEEKDAYS.iter().map(|(_, day)| *day).collect();
        QuietHours::new(from, to, weekdays.unwrap_or_else(every)).map_err(|error| error.to_string())
    }
}

impl SiteDigest {
    /// Its weekday and time as values.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn check(&self) -> Result<(Weekday, NaiveTime), String> {
        Ok((weekday(&self.weekday)?, time(&self.time)?))
    }
}

/// The weekdays by their short names.
pub const WEEKDAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

/// The weekday of a short name.
///
/// # Errors
/// The names that would do.
pub fn weekday(text: &str) -> Result<Weekday, String> {
    let wanted = text.trim().to_ascii_lowercase();
    let known = WEEKDAYS.iter().find(|(name, _)| *name == wanted);
    known.map(|(_, day)| *day).ok_or_else(|| {
        format!("\"{text}\" is no weekday; give mon, tue, wed, thu, fri, sat or sun")
    })
}

fn time(text: &str) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(text.trim(), "%H:%M")
        .map_err(|_| format!("\"{text}\" is no time of day; give it like 22:00"))
}
