//! Watches: what is watched, from what on it is low, and where that is told.

use domain::forecast::Target;
use domain::watch::{Filter, Limit};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shape::resource;
use crate::{Checker, Violation};

/// Where a warning can be told beside the page, which tells all of them.
pub const CHANNELS: [&str; 4] = ["page", "mail", "webhook", "calendar"];

/// The longest stated week, in minutes: all of it.
const WEEK_MINUTES_MAX: i64 = 10_080;

resource! {
    /// A watch as it should be: on exactly one of `part`, `filter`, `kit`, `job`, `course` and `torch`.
    #[derive(Default)]
    new NewWatch
    /// A watch.
    view Watch
    given {
        /// The site; the first site unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "shop")]
        site: Option<String>,
        /// A part.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "WLa20-1.6")]
        part: Option<String>,
        /// Parts of a kind, with named sizes and classes; their stock and their use are taken together.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "electrode 1.6 WLa20,WCe20")]
        filter: Option<String>,
        /// A kit: low when its stock makes no more than so many.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kit: Option<String>,
        /// A job.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job: Option<String>,
        /// A course.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        course: Option<String>,
        /// A torch: whether it uses electrodes faster than the others. Every torch is checked each week without
        /// that; a watch says where it is told, or that nothing is to be heard of it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "T2")]
        torch: Option<String>,
        /// From what on it is low: `order point` (unless told), `chance 10%` of being short before an order
        /// of now is there, `cover 14d`, or a number of pieces; for a kit, a number of kits.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "order point")]
        limit: Option<String>,
        /// Minutes of arc time in a normal week, where they are stated and not learned.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 360, minimum = 1, maximum = 10080)]
        week_minutes: Option<i64>,
        /// The chance of having enough that the order point goes by; 0.95 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 0.95)]
        target: Option<f64>,
        /// How often the stock is looked at, in days; 7 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 7, minimum = 1, maximum = 90)]
        review_days: Option<i64>,
        /// Where it is told: `mail`, `webhook` and `calendar`, beside `page`, which always is; `mail`
        /// and `webhook` unless told.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(example = json!(["mail", "calendar"]), max_items = 4)]
        channels: Vec<String>,
        /// Whether it is off.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        off: bool,
        /// Why it is off.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        off_because: Option<String>,
    }
    added {
        /// Names the watch in paths; absent for one that is there without having been set.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        id: Option<Uuid>,
        /// What it is on, in words.
        #[schema(example = "WLa20-1.6")]
        subject: String,
        /// Whether it is there by itself, since the part can stop work. Setting a watch on the same part
        /// takes its place.
        default: bool,
        /// What there is to know of it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        notes: Vec<String>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of watches.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct WatchPage {
    /// The watches by what they are on.
    pub watches: Vec<Watch>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a watch.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct WatchPath {
    /// The id of the watch.
    pub watch: String,
}

/// Which watches are asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListWatches {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// What a watch goes by.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedWatch {
    /// From what on it is low.
    pub limit: Limit,
    /// The filter, where it is on one.
    pub filter: Option<Filter>,
}

impl NewWatch {
    /// What it goes by, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<CheckedWatch, Vec<Violation>> {
        let mut checker = Checker::default();
        let work = [&self.job, &self.course];
        let goods = [&self.part, &self.filter, &self.kit];
        let named = goods.into_iter().chain(work).chain([&self.torch]);
        let named = named.filter(|it| it.is_some()).count();
        if named != 1 {
            let why =
                format!("{named} given; give one of part, filter, kit, job, course and torch");
            checker.note("part", why);
        }
        let limit = match self.limit.as_deref() {
            None if self.kit.is_some() => Some(Limit::Pieces(0)),
            None => Some(Limit::OrderPoint),
            Some(text) => checker.take("limit", Limit::parse(text)),
        };
        if self.kit.is_some() && !matches!(limit, None | Some(Limit::Pieces(_))) {
            checker.note(
                "limit",
                "a kit is low at a number of kits: give one, such as 1",
            );
        }
        let own_limit = if self.job.is_some() || self.course.is_some() {
            Some("a job or a course has its own target: leave it out")
        } else if self.torch.is_some() {
            Some("a torch is checked against the others, at a limit for false alarms: leave it out")
        } else {
            None
        };
        if let Some(why) = own_limit.filter(|_| !matches!(limit, None | Some(Limit::OrderPoint))) {
            checker.note("limit", why);
        }
        self.check_pace(&mut checker);
        let filter = checker.take_opt("filter", self.filter.as_deref(), Filter::parse);
        self.check_told(&mut checker);
        checker.finish()?;
        limit
            .map(|limit| CheckedWatch { limit, filter })
            .ok_or_else(Vec::new)
    }

    /// How fast it goes and what is enough.
    fn check_pace(&self, checker: &mut Checker) {
        if let Some(minutes) = self.week_minutes {
            checker.range("week_minutes", minutes, 1, WEEK_MINUTES_MAX);
        }
        if let Some(days) = self.review_days {
            checker.range("review_days", days, 1, 90);
        }
        checker.take_opt("target", self.target.as_ref(), |target| {
            Target::new(*target)
        });
    }

    /// Where it is told, and why not.
    fn check_told(&self, checker: &mut Checker) {
        for (index, channel) in self.channels.iter().enumerate() {
            if !CHANNELS.contains(&channel.as_str()) {
                let why = format!("\"{channel}\" is no channel; give mail, webhook or calendar");
                checker.note(&format!("channels/{index}"), why);
            }
        }
        checker.text("off_because", self.off_because.as_deref(), 200);
        if self.off
            && self
                .off_because
                .as_deref()
                .is_none_or(|it| it.trim().is_empty())
        {
            checker.note(
                "off_because",
                "missing; say why nothing is to be heard of it",
            );
        }
    }
}
