//! Usage: what was done at the bench. Arc time and grinds wear what is fitted in the torch; a part
//! taken or broken leaves the stock and counts as worn out.

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use domain::exposure::ArcSource;
use domain::size::RodLength;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::DEFAULT_GROUP;
use crate::cylinders::NewCylinderSwap;
use crate::shape::entry;
use crate::{Checker, KeptAside, Problem, Recorded, Violation};

/// How many entries one batch may hold.
pub const BATCH_MAX: usize = 1_000;

entry! {
    /// One entry of use. Everything is optional but one of `what`, `arc_minutes`, `grinds`,
    /// `cut_backs`, `starts` and `student_days`.
    NewUsage {
        /// The id that the device gave the entry. A batch needs one for each; for a single entry the
        /// `Idempotency-Key` header is the id.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(max_length = 80)]
        id: Option<String>,
        /// The torch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "T1")]
        torch: Option<String>,
        /// `ground`, `took`, `put-back`, `broke`, `lost` or `stub`: the old electrode went into the
        /// stub jar.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "took")]
        what: Option<String>,
        /// The part taken, put back, broken or lost, or the electrode that was ground or became a
        /// stub: its code, or its kind if the torch has one fitted (`electrode`, `cup`); the fitted
        /// electrode unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "WLa20-2.4")]
        part: Option<String>,
        /// How many; 1 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 1, maximum = 10000)]
        qty: Option<i64>,
        /// How long the stub is, with its unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "48 mm")]
        length: Option<String>,
        /// Arc time in minutes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 75, minimum = 0, maximum = 100_000)]
        arc_minutes: Option<i64>,
        /// Where the arc time is known from: `counter`, the arc timer of the power source, or
        /// `cylinder`, swaps of the gas cylinder; without it, it was typed after the session.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "counter")]
        arc_from: Option<String>,
        /// What the arc timer of the power source stands at, in minutes; the arc time since its last
        /// reading follows, less what was logged meanwhile.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 74_400, minimum = 0, maximum = 6_000_000)]
        arc_timer_minutes: Option<i64>,
        /// The arc timer was reset or changed since its last reading: arc time counts from this one.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        arc_timer_restarted: bool,
        /// The gas cylinder was swapped: the arc time that the empty one tells of follows, less what was
        /// logged since the swap before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cylinder: Option<Box<NewCylinderSwap>>,
        /// How often the electrode was ground.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 3, minimum = 0, maximum = 10000)]
        grinds: Option<i64>,
        /// How often a length was cut back from the electrode.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 0, maximum = 10000)]
        cut_backs: Option<i64>,
        /// How often the arc was started.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 0, maximum = 100_000)]
        starts: Option<i64>,
        /// The course it was for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "course-0912")]
        course: Option<String>,
        /// Student-days (heads times days) of a course in which the part was used, without a torch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 0, maximum = 10000)]
        student_days: Option<i64>,
        /// Welding current in amperes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 1, maximum = 2000)]
        amps: Option<i64>,
        /// `DCEN`, `DCEP` or `AC`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        polarity: Option<String>,
        /// `dipped`, `worn` or `dropped`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    }
}

/// Many entries of use. Each is judged alone; a repeat is harmless, since each has its own id.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewUsageBatch {
    /// The entries, up to 1000, each with its `id`.
    #[schema(max_items = 1000)]
    pub entries: Vec<NewUsage>,
    /// The entries are history, taken over at set-up: they may be older than 90 days. Needs the
    /// role `keep`.
    #[serde(default)]
    pub history: bool,
    /// What the clock of the device says as it sends this. With it, an entry that has only
    /// `device_at` is dated by the true time: by how much the clock is off is measured against the
    /// clock here, and kept. Less than half a minute is taken for the time of sending.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "2026-11-01T10:16:00-04:00")]
    pub device_clock: Option<DateTime<FixedOffset>>,
    /// Judge everything and change nothing.
    #[serde(default, rename = "try")]
    pub only_try: bool,
}

/// What became of a batch, entry by entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct UsageBatch {
    /// The sum in one line.
    #[schema(example = "6 entries: 6 in, 0 already in, 0 need you.")]
    pub says: String,
    /// Whether it was only tried, so that nothing has changed.
    #[serde(rename = "try")]
    pub only_tried: bool,
    /// Recorded now.
    pub recorded: u64,
    /// Recorded before, by an earlier sending.
    pub already_in: u64,
    /// Kept aside, since their dates are out of bounds; see the question of each.
    pub kept_aside: u64,
    /// Refused; see the problem of each.
    pub refused: u64,
    /// One line an entry, in the order they were sent.
    pub entries: Vec<UsageOutcome>,
}

/// What became of one entry of a batch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct UsageOutcome {
    /// The id that was sent.
    pub id: String,
    /// `recorded`, `already in`, `kept aside` or `refused`.
    pub result: String,
    /// What was recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recorded: Option<Recorded>,
    /// What is asked about it, if it was kept aside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept_aside: Option<KeptAside>,
    /// Why it was refused, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub problem: Option<Problem>,
}

/// An entry of use on record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Usage {
    /// Names the entry.
    pub entry: Uuid,
    /// The site.
    pub site: String,
    /// Operator group.
    pub group: String,
    /// The torch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torch: Option<String>,
    /// The job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// What was done: `ground`, `took`, `put-back`, `broke`, `lost` or `stub`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// The part that it was done with; none if only work was logged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// How many of it, in its unit, where that changed the stock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub qty: Option<i64>,
    /// Its lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Arc time in minutes.
    pub arc_minutes: i64,
    /// Grinds.
    pub grinds: i64,
    /// Cut-backs.
    pub cut_backs: i64,
    /// Starts.
    pub starts: i64,
    /// Welding current in amperes, where it was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amps: Option<i64>,
    /// Polarity, where it was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub polarity: Option<String>,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
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

/// A page of usage.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct UsagePage {
    /// The entries, newest received first.
    pub usage: Vec<Usage>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which entries of use.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListUsage {
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

/// Which use to add up.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct SumUsage {
    /// `day` or `month`, in the site's zone; `day` unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "month")]
    pub by: Option<String>,
    /// Only of this part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The first day, in the site's zone.
    #[param(example = "2026-10-01")]
    pub from: NaiveDate,
    /// The last day, in the site's zone; up to 366 days after the first.
    #[param(example = "2026-10-31")]
    pub to: NaiveDate,
}

/// What was used, added up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UsageSums {
    /// The site.
    pub site: String,
    /// The zone in which days and months begin.
    pub zone: String,
    /// `day` or `month`.
    pub by: String,
    /// One line a period and part, in order; a period in which nothing was used has none.
    pub sums: Vec<UsageSum>,
}

/// What was used of a part in a period.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UsageSum {
    /// The first day of the period.
    pub from: NaiveDate,
    /// The code of the part.
    pub part: String,
    /// How many were used, less what was put back.
    pub used: i64,
}

/// What was done at the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// The electrode was ground.
    Ground,
    /// A new one was taken; the old one is worn out.
    Took,
    /// One was put back, unused.
    PutBack,
    /// One broke, and a new one was taken.
    Broke,
    /// One was lost, and a new one was taken.
    Lost,
    /// The old electrode went into the stub jar.
    Stub,
}

impl What {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Ground,
        Self::Took,
        Self::PutBack,
        Self::Broke,
        Self::Lost,
        Self::Stub,
    ];

    /// The word on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Ground => "ground",
            Self::Took => "took",
            Self::PutBack => "put-back",
            Self::Broke => "broke",
            Self::Lost => "lost",
            Self::Stub => "stub",
        }
    }

    /// What that word means.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.as_str() == word)
    }
}

impl NewUsage {
    /// What was done, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<Option<What>, Vec<Violation>> {
        let mut checker = Checker::default();
        let what = self.what.as_deref().and_then(|word| {
            let choices = "give ground, took, put-back, broke, lost or stub";
            checker.take(
                "what",
                What::parse(word).ok_or_else(|| format!("\"{word}\" is unknown; {choices}")),
            )
        });
        for (field, value, min, max) in [
            ("qty", self.qty, 1, 10_000),
            ("arc_minutes", self.arc_minutes, 0, 100_000),
            ("grinds", self.grinds, 0, 10_000),
            ("cut_backs", self.cut_backs, 0, 10_000),
            ("starts", self.starts, 0, 100_000),
            ("student_days", self.student_days, 0, 10_000),
            ("arc_timer_minutes", self.arc_timer_minutes, 0, 6_000_000),
            ("amps", self.amps, 1, 2_000),
        ] {
            if let Some(value) = value {
                checker.range(field, value, min, max);
            }
        }
        self.check_words(&mut checker);
        self.check_length(what, &mut checker);
        self.check_sense(&mut checker);
        checker.text("id", self.id.as_deref(), 80);
        self.circumstances().check(&mut checker);
        checker.finish()?;
        Ok(what)
    }

    fn check_words(&self, checker: &mut Checker) {
        for (field, value, choices) in [
            ("polarity", &self.polarity, ["DCEN", "DCEP", "AC"]),
            ("why", &self.why, ["dipped", "worn", "dropped"]),
        ] {
            if let Some(word) = value.as_deref().filter(|word| !choices.contains(word)) {
                checker.note(
                    field,
                    format!("\"{word}\" is unknown; give {}", choices.join(", ")),
                );
            }
        }
    }

    fn check_length(&self, what: Option<What>, checker: &mut Checker) {
        let length = self.length.as_deref();
        checker.take_opt("length", length, RodLength::parse);
        if let Some(length) = length.filter(|_| what != Some(What::Stub)) {
            checker.note(
                "length",
                format!("\"{length}\" is of a stub; say stub in what, or leave it out"),
            );
        }
    }

    /// Arc time is told once: typed, or by one clock.
    fn check_clocks(&self, checker: &mut Checker) {
        let told = [
            self.arc_minutes.is_some(),
            self.arc_timer_minutes.is_some(),
            self.cylinder.is_some(),
        ];
        if told.into_iter().filter(|is_told| *is_told).count() > 1 {
            let why = "tells arc time twice; give one of arc_minutes, arc_timer_minutes, cylinder";
            checker.note("arc_minutes", why);
        }
        if self.arc_timer_restarted && self.arc_timer_minutes.is_none() {
            checker.note(
                "arc_timer_restarted",
                "stands alone; give arc_timer_minutes, what the timer stands at now",
            );
        }
        if let Some(swap) = &self.cylinder {
            swap.check(checker);
        }
    }

    fn check_sense(&self, checker: &mut Checker) {
        let exposure = [
            self.arc_minutes,
            self.grinds,
            self.cut_backs,
            self.starts,
            self.arc_timer_minutes,
            self.cylinder.as_ref().map(|swap| swap.litres),
        ];
        let taught = self.student_days.is_some_and(|days| days > 0);
        let is_idle =
            exposure.iter().flatten().all(|value| *value == 0) && self.arc_timer_minutes.is_none();
        if self.what.is_none() && is_idle && !taught {
            checker.note(
                "what",
                "nothing to record; give what, arc_minutes, grinds, cut_backs, starts or student_days",
            );
        }
        if self.student_days.is_some() && self.torch.is_some() {
            checker.note(
                "student_days",
                "are of a course, not of one torch; leave torch out",
            );
        }
        let is_own = self
            .group
            .as_deref()
            .is_some_and(|group| group.eq_ignore_ascii_case(DEFAULT_GROUP));
        if self.student_days.is_some() && is_own {
            checker.note(
                "group",
                "own is not of a course, whose use would raise your own rate; give beginner, helper or visitor",
            );
        }
        if self.course.is_some() && self.job.is_some() {
            checker.note(
                "course",
                "cannot be given with a job; leave one of them out",
            );
        }
        if self.student_days.is_some() && self.part.is_none() {
            checker.note(
                "part",
                "missing; give the code of the part that was used in the course",
            );
        }
        self.check_clocks(checker);
        if let Some(from) = self.arc_from.as_deref() {
            checker.take("arc_from", ArcSource::parse(from));
            if self.arc_minutes.is_none() {
                checker.note("arc_from", "stands alone; give arc_minutes with it");
            }
        }
        if self.what.is_none() && !taught && (self.part.is_some() || self.qty.is_some()) {
            checker.note(
                "what",
                "missing; say ground, took, put-back, broke, lost or stub of the part",
            );
        }
        if self.torch.is_none() && exposure.iter().any(Option::is_some) {
            checker.note(
                "torch",
                "missing; arc time and grinds wear what is fitted in a torch",
            );
        }
        if self.torch.is_none() && self.part.is_none() && self.what.is_some() {
            checker.note(
                "part",
                "missing; without a torch, give the code of the part",
            );
        }
    }
}
