//! Courses: teaching to come, with its students, days and stations, and the kit of a station.

use chrono::{DateTime, Days, NaiveDate, Utc};
use domain::code::Code;
use domain::course::{
    CourseError, CourseSize, Grinding, MINUTES_A_DAY, MINUTES_BETWEEN_VISITS, stated_grinds,
};
use domain::forecast::Target;
use domain::shared_factor::SharedFactor;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, DEFAULT_GROUP, TARGET_DEFAULT, Violation, check_group};

/// The operator group of a course, unless told.
pub const COURSE_GROUP_DEFAULT: &str = "beginner";

/// How many exercises a course lists at most.
pub const EXERCISES_MAX: usize = 100;

resource! {
    /// A course as it should be. Its size is `heads` times `days`, in student-days.
    #[derive(Default)]
    new NewCourse
    /// A course.
    view Course
    given {
        /// The short name of the course.
        #[schema(example = "course-0912")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "TIG for beginners")]
        name: Option<String>,
        /// Where it is held; the first site unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "tarnbridge")]
        site: Option<String>,
        /// The kit that each station is fitted with.
        #[schema(example = "K-24")]
        kit: String,
        /// The first day, in the site's zone.
        #[schema(example = "2026-09-12")]
        starts: NaiveDate,
        /// The last day; as many days on as it takes unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "2026-09-13")]
        ends: Option<NaiveDate>,
        /// How many students.
        #[schema(example = 12, minimum = 1, maximum = 1000)]
        heads: i64,
        /// On how many days they weld; each day from the first to the last unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 2, minimum = 1, maximum = 366)]
        days: Option<i64>,
        /// At how many stations, each with a torch that is fitted before the start.
        #[schema(example = 6, minimum = 1, maximum = 500)]
        stations: i64,
        /// What is practised, in the words of the school.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[schema(example = json!(["beads on steel", "fillet on stainless"]))]
        exercises: Vec<String>,
        /// Operator group of the students; `beginner` unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "beginner")]
        group: Option<String>,
        /// The chance that nobody should have to stop for a part; 0.95 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 0.95, minimum = 0.5, maximum = 0.9999)]
        target: Option<f64>,
        /// How far courses differ in clumsiness, which all parts of one course share: the standard
        /// deviation over the mean, 0 to 1; 0 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 0.0, minimum = 0, maximum = 1)]
        clumsiness: Option<f64>,
        /// How often a student blunts an electrode in a day; from the record of the group, else a
        /// starting assumption, unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 4.0)]
        grinds_per_student_day: Option<f64>,
        /// Minutes from one visit to the grinder to the next, when the blunt electrodes of a station
        /// go there together; 60 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 60, minimum = 5, maximum = 1440)]
        minutes_between_visits: Option<i64>,
        /// Minutes at the torch in a day; 360 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = 360, minimum = 30, maximum = 1440)]
        minutes_a_day: Option<i64>,
        /// Codes of parts that are left out of the chance.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        left_out: Vec<String>,
    }
    added {
        /// Students times days.
        student_days: i64,
        /// When it ended; absent while it is open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        closed_at: Option<DateTime<Utc>>,
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of courses.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct CoursePage {
    /// The courses by code.
    pub courses: Vec<Course>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a course.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct CoursePath {
    /// The code of the course.
    pub course: String,
}

/// What the fields of a course mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CheckedCourse {
    /// How large it is.
    pub size: CourseSize,
    /// Its last day.
    pub ends: NaiveDate,
    /// The chance that is wanted.
    pub target: Target,
    /// What its parts share.
    pub clumsiness: SharedFactor,
}

impl NewCourse {
    /// What the fields mean, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<CheckedCourse, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("course", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        if self.kit.trim().is_empty() {
            let why = "missing; name the kit that each station is fitted with";
            checker.note("kit", why);
        }
        check_group(self.group.as_deref(), &mut checker);
        let group = self.group.as_deref();
        if group.is_some_and(|group| group.eq_ignore_ascii_case(DEFAULT_GROUP)) {
            let why = "own is the group of the shop, whose rate a course never raises; give beginner, helper or visitor";
            checker.note("group", why);
        }
        self.check_exercises(&mut checker);
        self.check_grinding(&mut checker);
        let days = self.length(&mut checker);
        let size = self.size(days.map_or(1, |(days, _)| days), &mut checker);
        let target = checker.take("target", Target::new(self.target.unwrap_or(TARGET_DEFAULT)));
        let clumsiness = SharedFactor::new(self.clumsiness.unwrap_or(0.0));
        let clumsiness = checker.take("clumsiness", clumsiness);
        checker.finish()?;
        let checked = || {
            Some(CheckedCourse {
                size: size?,
                ends: days?.1,
                target: target?,
                clumsiness: clumsiness?,
            })
        };
        checked().ok_or_else(Vec::new)
    }

    fn size(&self, days: i64, checker: &mut Checker) -> Option<CourseSize> {
        CourseSize::new(self.heads, days, self.stations)
            .map_err(|error| {
                let field = match error {
                    CourseError::Heads(_) => "heads",
                    CourseError::Days(_) => "days",
                    CourseError::Stations(_)
                    | CourseError::EmptyStations { .. }
                    | CourseError::Grinds(_)
                    | CourseError::Between { .. }
                    | CourseError::Day(_)
                    | CourseError::Rate(_)
                    | CourseError::Use(_) => "stations",
                };
                checker.note(field, error);
            })
            .ok()
    }

    /// The days of welding and the last day, where they do not contradict each other.
    fn length(&self, checker: &mut Checker) -> Option<(i64, NaiveDate)> {
        let (starts, days) = (self.starts, self.days);
        if days.is_some_and(|days| !(1..=CourseSize::DAYS_MAX).contains(&days)) {
            let why = CourseError::Days(days.unwrap_or_default());
            checker.note("days", why);
            return None;
        }
        let Some(ends) = self.ends else {
            let days = days.unwrap_or(1);
            let further = u64::try_from(days - 1).unwrap_or(0);
            let ends = starts.checked_add_days(Days::new(further));
            return checker
                .need("starts", ends, "give a day of this age")
                .map(|ends| (days, ends));
        };
        let there = (ends - starts).num_days() + 1;
        if there < 1 {
            let why =
                format!("{ends} is before the first day, {starts}; give that day or a later one");
            checker.note("ends", why);
            return None;
        }
        let days = days.unwrap_or(there);
        if days > there {
            let why = format!(
                "{days} days do not fit between {starts} and {ends}; give at most {there}, or a later end"
            );
            checker.note("days", why);
            return None;
        }
        Some((days, ends))
    }

    fn check_exercises(&self, checker: &mut Checker) {
        if self.exercises.len() > EXERCISES_MAX {
            let given = self.exercises.len();
            let why = format!("{given} exercises; give at most {EXERCISES_MAX}");
            checker.note("exercises", why);
        }
        for (index, exercise) in self.exercises.iter().enumerate() {
            let field = format!("exercises/{index}");
            if exercise.trim().is_empty() {
                checker.note(&field, "is empty; name the exercise, or leave it out");
            }
            checker.text(&field, Some(exercise), 80);
        }
    }

    fn check_grinding(&self, checker: &mut Checker) {
        if let Some(grinds) = self.grinds_per_student_day {
            checker.take("grinds_per_student_day", stated_grinds(grinds));
        }
        let a_day = self.minutes_a_day.unwrap_or(i64::from(MINUTES_A_DAY));
        checker.range("minutes_a_day", a_day, 30, 1_440);
        let between = self
            .minutes_between_visits
            .unwrap_or(i64::from(MINUTES_BETWEEN_VISITS).min(a_day));
        checker.range("minutes_between_visits", between, 5, a_day.max(5));
    }

    /// How the work is interrupted by the grinder, at a rate of grinds in a student-day.
    ///
    /// The minutes have to be checked first; what is out of range is replaced by what holds unless
    /// told.
    pub fn grinding(&self, rate: domain::wear::Gamma) -> Grinding {
        let minutes = |told: Option<i64>, unless: u32| {
            told.and_then(|minutes| u32::try_from(minutes).ok())
                .unwrap_or(unless)
        };
        let minutes_a_day = minutes(self.minutes_a_day, MINUTES_A_DAY);
        Grinding {
            rate,
            minutes_between: minutes(
                self.minutes_between_visits,
                MINUTES_BETWEEN_VISITS.min(minutes_a_day),
            ),
            minutes_a_day,
        }
    }
}
