//! Jobs: work to come, with its size, its start and what it needs.

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use domain::code::Code;
use domain::exposure::ArcTime;
use domain::forecast::Target;
use domain::gas::{GasFlow, Starts};
use domain::safety::Condition;
use domain::shared_factor::SharedFactor;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation, WELDS_MAX, WeldLine, check_group};

/// How a job is set up or changed.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct SetUpJob {
    /// Whether its start may be past, because it has begun, or is done and only set on record.
    #[serde(default)]
    pub begun: bool,
}

/// The chance that a job should run without a stop, unless told.
pub const TARGET_DEFAULT: f64 = 0.95;

/// The time of day a job starts, unless told.
pub const START_DEFAULT: NaiveTime = NaiveTime::from_hms_opt(7, 0, 0).expect("seven exists");

resource! {
    /// A job as it should be. Its size is `arc_minutes`, `grinds` or `weeks`, or the arc time of its
    /// `welds`; with more than one, each part uses the best that the shop has logged for it.
    #[derive(Default)]
    new NewJob
    /// A job.
    view Job
    given {
        /// The short name of the job.
        #[schema(example = "R-118")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "Marine handrail")]
        name: Option<String>,
        /// Where it is done; the site of the torch unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
        /// The torch it is done with.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        torch: Option<String>,
        /// The kit it needs; what is fitted in the torch unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kit: Option<String>,
        /// Operator group that will do it; `own` unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        group: Option<String>,
        /// Size in minutes of arc time; it goes before that of the weld list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 2040, minimum = 1)]
        arc_minutes: Option<i64>,
        /// Size in grinds.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 1)]
        grinds: Option<i64>,
        /// Size in normal weeks of TIG work.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 0.1)]
        weeks: Option<f64>,
        /// The day it starts, in the site's zone.
        #[schema(example = "2026-06-26")]
        start: NaiveDate,
        /// The local time on that day, `HH:MM`, when it starts; 07:00 unless told. What comes during the
        /// first day comes too late.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "07:00")]
        start_time: Option<String>,
        /// Minutes of arc time a working day: how long what there is lasts is told by it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 240, minimum = 1)]
        arc_minutes_per_day: Option<i64>,
        /// How well its size is known: the standard deviation over the mean, 0 to 1; known exactly
        /// unless told. All its parts share it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 0.2, minimum = 0, maximum = 1)]
        spread: Option<f64>,
        /// The chance that it should run without a stop for a part; 0.95 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 0.95, minimum = 0.5, maximum = 0.9999)]
        target: Option<f64>,
        /// The written procedure it is done by, with its revision; the newest one unless told. A name
        /// that no procedure here has stays a text, and no part is held against it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "PROC-07 rev 2")]
        procedure: Option<String>,
        /// That procedure allows no substitution, and each electrode and filler rod used for the job
        /// has to be known by its lot. It follows from the procedure, where that is entered.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        locked: bool,
        /// What the work is like, as far as it calls for a caution: `purge`, `enclosed`, `stainless`,
        /// `coated`.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(example = json!(["purge", "stainless"]))]
        conditions: Vec<String>,
        /// Codes of parts that are left out of the chance.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        left_out: Vec<String>,
        /// The welds, from which the arc time follows unless `arc_minutes` is given, and the filler.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(max_items = 500)]
        welds: Vec<WeldLine>,
        /// The code of the shielding gas.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "argon")]
        gas: Option<String>,
        /// Its flow at the cup, with its unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "8 L/min")]
        gas_flow: Option<String>,
        /// Gas before each arc, in milliseconds; 500 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 500, minimum = 0, maximum = 600_000)]
        pre_flow_ms: Option<i64>,
        /// Gas after each arc, in milliseconds; 8000 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 8000, minimum = 0, maximum = 600_000)]
        post_flow_ms: Option<i64>,
        /// Gas for purging, in litres; none unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 200, minimum = 0, maximum = 1_000_000)]
        purge_litres: Option<i64>,
    }
    added {
        /// The revision of an entered procedure that its parts are held against.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        done_by: Option<JobProcedure>,
        /// When it ended; absent while it is open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        closed_at: Option<DateTime<Utc>>,
        /// What is to be said of the procedure and of the weld list, in plain words.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        says: Vec<String>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// The revision of a procedure that a job is done by.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct JobProcedure {
    /// The code of the procedure.
    pub procedure: String,
    /// The revision.
    pub revision: i64,
    /// The newest revision, which the job does not follow by itself.
    pub newest_revision: i64,
}

/// A page of jobs.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct JobPage {
    /// The jobs by code.
    pub jobs: Vec<Job>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a job.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct JobPath {
    /// The code of the job.
    pub job: String,
}

impl NewJob {
    /// The target and the conditions of the work, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(Target, Vec<Condition>), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("job", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        check_group(self.group.as_deref(), &mut checker);
        checker.text("procedure", self.procedure.as_deref(), 80);
        if self.locked && self.procedure.is_none() {
            checker.note("procedure", "missing; name the procedure that is locked");
        }
        if let Some(minutes) = self.arc_minutes {
            checker.range("arc_minutes", minutes, 1, 6_000_000);
        }
        if let Some(grinds) = self.grinds {
            checker.range("grinds", grinds, 1, 1_000_000);
        }
        if self
            .weeks
            .is_some_and(|weeks| !(0.1..=520.0).contains(&weeks))
        {
            checker.note("weeks", "is out of range; give 0.1 to 520 normal weeks");
        }
        let sizes = [
            self.arc_minutes.is_some(),
            self.grinds.is_some(),
            self.weeks.is_some(),
        ];
        if self.welds.is_empty() && sizes.iter().all(|given| !given) {
            checker.note(
                "arc_minutes",
                "the job has no size; give arc_minutes, grinds or weeks, or a list of welds",
            );
        }
        self.check_welds(&mut checker);
        self.check_gas(&mut checker);
        if self.torch.is_none() && self.kit.is_none() {
            checker.note(
                "torch",
                "missing; give a torch or a kit, so that the parts are known",
            );
        }
        if let Some(minutes) = self.arc_minutes_per_day {
            checker.range("arc_minutes_per_day", minutes, 1, 1_440);
        }
        checker.take("start_time", self.start_time());
        checker.take("spread", self.shared());
        let target = checker.take("target", Target::new(self.target.unwrap_or(TARGET_DEFAULT)));
        let conditions = self.conditions(&mut checker);
        checker.finish()?;
        Ok((target.ok_or_else(Vec::new)?, conditions))
    }

    /// The local time at which it starts.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn start_time(&self) -> Result<NaiveTime, String> {
        let Some(text) = self.start_time.as_deref() else {
            return Ok(START_DEFAULT);
        };
        NaiveTime::parse_from_str(text, "%H:%M").map_err(|_| {
            format!("\"{text}\" is not a time of day; give hours and minutes, such as 07:00")
        })
    }

    /// What all its parts share.
    ///
    /// # Errors
    /// What is wrong with the spread, in words.
    pub fn shared(&self) -> Result<SharedFactor, domain::shared_factor::SpreadError> {
        SharedFactor::new(self.spread.unwrap_or_default())
    }

    fn check_welds(&self, checker: &mut Checker) {
        if self.welds.len() > WELDS_MAX {
            let given = self.welds.len();
            checker.note("welds", format!("{given} lines; give at most {WELDS_MAX}"));
            return;
        }
        let mut seconds = 0;
        let mut starts = 0;
        for (index, line) in self.welds.iter().enumerate() {
            if let Some((_, work)) = line.check(&format!("welds/{index}"), checker) {
                seconds += work.arc.seconds();
                starts += work.starts;
            }
        }
        checker.take("welds", ArcTime::from_seconds(seconds));
        checker.take("welds", Starts::new(starts, 0, 0));
    }

    /// The flow of the gas, where there is one.
    ///
    /// # Errors
    /// The text is no flow.
    pub fn flow(&self) -> Result<Option<GasFlow>, domain::gas::GasError> {
        self.gas_flow.as_deref().map(GasFlow::parse).transpose()
    }

    fn check_gas(&self, checker: &mut Checker) {
        checker.take("gas_flow", self.flow());
        for (field, value, max) in [
            ("pre_flow_ms", self.pre_flow_ms, Starts::MILLISECONDS_MAX),
            ("post_flow_ms", self.post_flow_ms, Starts::MILLISECONDS_MAX),
            ("purge_litres", self.purge_litres, 1_000_000),
        ] {
            if let Some(value) = value {
                checker.range(field, value, 0, max);
            }
        }
        if self.gas.is_some() {
            let remedy = "give the flow of the gas with its unit, such as 8 L/min";
            checker.need("gas_flow", self.gas_flow.as_deref(), remedy);
            if self.arc_minutes.is_none() && self.welds.is_empty() {
                let why = "gas goes by arc time; give arc_minutes or a list of welds with it";
                checker.note("gas", why);
            }
            return;
        }
        let of_gas = [
            ("gas_flow", self.gas_flow.is_some()),
            ("pre_flow_ms", self.pre_flow_ms.is_some()),
            ("post_flow_ms", self.post_flow_ms.is_some()),
            ("purge_litres", self.purge_litres.is_some()),
        ];
        for (field, _) in of_gas.iter().filter(|(_, given)| *given) {
            checker.note(field, "stands alone; name the shielding gas too, as gas");
        }
    }

    /// The conditions of the work, each once.
    fn conditions(&self, checker: &mut Checker) -> Vec<Condition> {
        let mut conditions = Vec::new();
        for (index, word) in self.conditions.iter().enumerate() {
            let field = format!("conditions/{index}");
            conditions.extend(checker.take(&field, Condition::parse(word)));
        }
        conditions.sort_unstable();
        conditions.dedup();
        conditions
    }
}
