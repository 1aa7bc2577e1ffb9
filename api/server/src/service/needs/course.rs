//! What a course needs beyond what any work does: what it costs, what its site bars, how its wear is
//! kept apart, and the racks of its stations. How parts are weighed is in the parent.

use std::collections::{BTreeSet, HashMap};

use chrono::NaiveDate;
use domain::course::{self, GRINDS_PER_STUDENT_DAY, RackPlan, rack_plan, stated_grinds};
use domain::exposure::Driver;
use domain::part::{PartKind, PartSpec};
use domain::safety::{About, Moment, cautions_at};
use domain::wear::{Gamma, JobSize};
use sea_orm::ConnectionTrait;
use types::{
    CheckedCourse, CourseNeeds, CoursePart, CourseRack, GetNeeds, NewCourse, START_DEFAULT,
    Violation,
};

use super::course_words::{self, OfCourse};
use super::work::{Kind, Work, counted};
use super::{Weighed, Weighing, answer, weigh_all};
use crate::service::known::View;
use crate::service::learned::{Learned, own_rates};
use crate::service::{Context, Error, codes, courses, parts, site_rules};
use crate::store;
use crate::store::entity::{courses as course_rows, sites};

/// What a course needs.
pub async fn get(context: &Context, code: &str, query: &GetNeeds) -> Result<CourseNeeds, Error> {
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::planned(past, query.now.as_deref(), context.clock.now())?;
    of_course(context.store.read(), code, view).await
}

/// What a course needs, as the given connection sees it.
pub(in crate::service) async fn of_course(
    db: &impl ConnectionTrait,
    code: &str,
    view: View,
) -> Result<CourseNeeds, Error> {
    let planned = Planned::load(db, code).await?;
    planned.work.check_open(planned.closed_at)?;
    planned.work.check_start(view)?;
    let weighing = weigh_all(db, &planned.work, view).await?;
    let mut needs = answer(&planned.work, &weighing, view)?;
    let rack = planned.rack(&weighing.weighed)?;
    let parts = planned.parts(db, &weighing, view).await?;
    let (worth_minor, worth_currency) = total(&parts);
    let size = planned.checked.size;
    needs.says.extend(course_words::says(&OfCourse {
        parts: &parts,
        worth: worth_minor
            .zip(worth_currency.as_deref())
            .map(|(worth, currency)| (worth, course::per_student_day(worth, size), currency)),
        barred: &barred(&planned.work.site),
        rack: rack.as_ref(),
        stations: i64::from(size.stations()),
        weighed: &weighing.weighed,
    }));
    Ok(CourseNeeds {
        course: planned.work.code.clone(),
        site: planned.work.site.code.clone(),
        ends: planned.checked.ends,
        heads: i64::from(size.heads()),
        days: i64::from(size.days()),
        stations: i64::from(size.stations()),
        student_days: i64::from(size.student_days()),
        exercises: planned.given.exercises.clone(),
        barred: barred(&planned.work.site),
        needs,
        parts,
        worth_minor,
        worth_per_student_day_minor: worth_minor.map(|worth| course::per_student_day(worth, size)),
        worth_currency,
        rack,
    })
}

/// A course, read and checked.
pub(super) struct Planned {
    pub(super) work: Work,
    pub(super) given: NewCourse,
    pub(super) checked: CheckedCourse,
    pub(super) closed_at: Option<i64>,
}

impl Planned {
    /// Reads a course.
    pub(super) async fn load(db: &impl ConnectionTrait, code: &str) -> Result<Self, Error> {
        let row = codes::course(db, code).await?;
        let given = courses::given(db, row.clone()).await?;
        let checked = given.check().map_err(|found| unreadable(&row, &found))?;
        let work = work(db, &row, &given, &checked).await?;
        Ok(Self {
            work,
            given,
            checked,
            closed_at: row.closed_at,
        })
    }

    /// The ground electrodes of the racks; none if no electrode counts.
    pub(super) fn rack(&self, weighed: &[Weighed]) -> Result<Option<CourseRack>, Error> {
        let electrodes: Vec<&Weighed> = weighed.iter().filter(|line| is_electrode(line)).collect();
        if electrodes.is_empty() {
            return Ok(None);
        }
        let fault = |error: course::CourseError| Error::Internal(error.to_string());
        let (rate, from) = match self.given.grinds_per_student_day {
            Some(stated) => (stated_grinds(stated).map_err(fault)?, "as stated"),
            None => recorded_grinds(&electrodes)
                .map_or((GRINDS_PER_STUDENT_DAY, "starting assumption"), |rate| {
                    (rate, "your record")
                }),
        };
        let grinding = self.given.grinding(rate);
        let CheckedCourse {
            size,
            target,
            clumsiness,
            ..
        } = self.checked;
        let plan = rack_plan(size, &grinding, clumsiness, target.get()).map_err(fault)?;
        Ok(Some(told(&plan, &grinding, from)))
    }

    /// What the course costs of each part, and how fast it is worn.
    async fn parts(
        &self,
        db: &impl ConnectionTrait,
        weighing: &Weighing,
        view: View,
    ) -> Result<Vec<CoursePart>, Error> {
        let own = own_rates(db, &self.work.parts, view).await?;
        let part = |line: &Weighed| {
            let price = weighing.market.cheapest_piece(line.part.id);
            let expected = line.learned.uses.mean();
            CoursePart {
                part: line.part.code.clone(),
                per_student_day: line.learned.wear.mean(),
                own_per_arc_hour: own.get(&line.part.id).copied(),
                worth_minor: price
                    .as_ref()
                    .map(|price| course::worth(expected, price.pack_minor, price.pack_size)),
                currency: price.map(|price| price.currency),
            }
        };
        Ok(weighing.weighed.iter().map(part).collect())
    }
}

/// A course as a piece of work.
async fn work(
    db: &impl ConnectionTrait,
    row: &course_rows::Model,
    given: &NewCourse,
    checked: &CheckedCourse,
) -> Result<Work, Error> {
    let site = store::sites::get_many(db, [row.site_id]).await?.pop();
    let site = site.ok_or_else(|| Error::Internal("a course lost its site".to_owned()))?;
    let lines = store::kits::lines(db, [row.kit_id]).await?;
    let ids: Vec<i64> = lines.iter().map(|line| line.part_id).collect();
    let out = store::courses::left_out(db, [row.id]).await?;
    let out: BTreeSet<i64> = out.iter().map(|row| row.part_id).collect();
    let lost = format!("course {}", row.code);
    let (parts, left_out) = counted(db, &ids, &out, &lost).await?;
    let specs: Vec<PartSpec> = parts
        .iter()
        .chain(&left_out)
        .map(parts::spec)
        .collect::<Result<_, _>>()?;
    Ok(Work {
        kind: Kind::Course,
        code: row.code.clone(),
        site,
        group: row.operator_group.clone(),
        start: given.starts,
        start_time: START_DEFAULT,
        arc_per_day: None,
        target: checked.target,
        size: JobSize {
            student_days: Some(checked.size.student_days()),
            ..JobSize::default()
        },
        shared: checked.clumsiness,
        parts,
        left_out: left_out.into_iter().map(|part| part.code).collect(),
        promises: Vec::new(),
        in_force: None,
        cautions: cautions_at(&[Moment::CoursePlan], &About::parts(&specs)),
        papers: HashMap::new(),
        size_says: Vec::new(),
        under_way: None,
    })
}

fn unreadable(row: &course_rows::Model, found: &[Violation]) -> Error {
    let what: Vec<String> = found.iter().map(|it| it.detail.clone()).collect();
    Error::Internal(format!("course {}: {}", row.code, what.join("; ")))
}

/// Whether a line is of an electrode.
pub(super) fn is_electrode(line: &Weighed) -> bool {
    line.part.kind == PartKind::Electrode.as_str()
}

/// Grinds in a student-day by the record of the group, where both are logged.
fn recorded_grinds(electrodes: &[&Weighed]) -> Option<Gamma> {
    let grinds: i64 = electrodes
        .iter()
        .map(|line| line.learned.evidence.grinds)
        .sum();
    let taught = |learned: &Learned| learned.evidence.exposure(Driver::StudentDays);
    let days = electrodes
        .iter()
        .map(|line| taught(&line.learned))
        .fold(0.0, f64::max);
    let grinds = u64::try_from(grinds).ok().filter(|grinds| *grinds > 0)?;
    (days > 0.0)
        .then(|| GRINDS_PER_STUDENT_DAY.posterior(grinds, days).ok())
        .flatten()
}

fn told(plan: &RackPlan, grinding: &course::Grinding, from: &str) -> CourseRack {
    let whole = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
    CourseRack {
        each: whole(plan.each),
        all: whole(plan.all),
        expected: plan.expected,
        chance: plan.chance,
        sessions: i64::from(plan.sessions),
        empty_expected: plan.empty_expected,
        grinds_per_student_day: grinding.rate.mean(),
        grinds_from: from.to_owned(),
        minutes_between_visits: i64::from(grinding.minutes_between),
        minutes_a_day: i64::from(grinding.minutes_a_day),
    }
}

/// What the expected use of all parts is worth, if each has a price and all are in one currency.
fn total(parts: &[CoursePart]) -> (Option<i64>, Option<String>) {
    let currency = parts.first().and_then(|part| part.currency.clone());
    if currency.is_none() || parts.iter().any(|part| part.currency != currency) {
        return (None, None);
    }
    let worth = parts.iter().map(|part| part.worth_minor).sum();
    (worth, currency)
}

fn barred(site: &sites::Model) -> Vec<String> {
    let rule = site_rules::rule(site);
    rule.barred().iter().map(ToString::to_string).collect()
}

/// The last day of a course.
pub(super) fn last_day(planned: &Planned) -> NaiveDate {
    planned.checked.ends
}
