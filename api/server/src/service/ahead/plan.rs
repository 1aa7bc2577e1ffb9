//! Work that is booked at a site: its jobs and courses that are not done, with the parts that they use.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use domain::exposure::{ArcTime, Driver};
use sea_orm::ConnectionTrait;
use types::BookedWork;

use crate::service::{Error, courses, jobs, torches};
use crate::store;
use crate::store::entity::{jobs as job_rows, sites};

/// Arc hours of a job in a day where it does not say, to tell its days apart; invented.
const ARC_HOURS_A_DAY: f64 = 4.0;

/// Work that begins on a day to come.
#[derive(Debug)]
pub(super) struct Booked {
    pub(super) code: String,
    pub(super) is_course: bool,
    pub(super) start: NaiveDate,
    pub(super) group: String,
    parts: BTreeSet<i64>,
    arc_hours: Option<f64>,
    arc_hours_a_day: f64,
    grinds: Option<f64>,
    weeks: Option<f64>,
}

impl Booked {
    /// Whether it uses a part.
    pub(super) fn uses(&self, part: i64) -> bool {
        self.parts.contains(&part)
    }

    /// How many days after `today` it begins.
    pub(super) fn begins_in(&self, today: NaiveDate) -> Option<usize> {
        usize::try_from((self.start - today).num_days()).ok()
    }

    /// How many normal weeks of work it is, where it says so.
    pub(super) fn weeks(&self) -> Option<f64> {
        self.weeks
    }

    /// Its size by a driver.
    pub(super) fn size(&self, driver: Driver) -> Option<f64> {
        match driver {
            Driver::ArcTime => self.arc_hours,
            Driver::Grinds => self.grinds,
            Driver::Weeks => self.weeks,
            Driver::StudentDays => None,
        }
    }

    /// How it is told, with its size by the main driver.
    pub(super) fn told(&self, to_come: Option<f64>) -> BookedWork {
        BookedWork {
            job: self.code.clone(),
            start: self.start,
            to_come,
        }
    }

    /// On how many days it is done.
    pub(super) fn length(&self) -> usize {
        let days = match (self.arc_hours, self.weeks) {
            (Some(hours), _) => hours / self.arc_hours_a_day,
            (None, Some(weeks)) => weeks * 7.0,
            (None, None) => 1.0,
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the days of a year first"
        )]
        let days = days.ceil().clamp(1.0, 366.0) as usize;
        days
    }
}

/// What is booked at a site from today on, within so many days.
pub(super) async fn booked(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    (today, days): (NaiveDate, u32),
) -> Result<Vec<Booked>, Error> {
    let is_near = |start: NaiveDate| (0..i64::from(days)).contains(&(start - today).num_days());
    let mut booked = Vec::new();
    let open = store::work::open_jobs(db, site.id).await?;
    let parts = parts_of_jobs(db, &open).await?;
    for job in open {
        let start = jobs::start(&job)?;
        if !is_near(start) {
            continue;
        }
        let hours = |seconds: i64| {
            #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
            let seconds = seconds as f64;
            seconds / 3_600.0
        };
        #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
        let grinds = job.grinds.map(|grinds| grinds as f64);
        let arc = match job.arc_seconds {
            Some(seconds) => Some(seconds),
            None => jobs::takeoff(db, &job).await?.arc.map(ArcTime::seconds),
        };
        booked.push(Booked {
            parts: parts.get(&job.id).cloned().unwrap_or_default(),
            code: job.code,
            is_course: false,
            start,
            group: job.operator_group,
            arc_hours: arc.map(hours),
            arc_hours_a_day: job.arc_seconds_per_day.map_or(ARC_HOURS_A_DAY, hours),
            grinds,
            weeks: job.weeks,
        });
    }
    for course in store::work::open_courses(db, site.id).await? {
        let start = courses::day(&course.starts, &course.code)?;
        if !is_near(start) {
            continue;
        }
        let lines = store::kits::lines(db, [course.kit_id]).await?;
        booked.push(Booked {
            parts: lines.iter().map(|line| line.part_id).collect(),
            code: course.code,
            is_course: true,
            start,
            group: course.operator_group,
            arc_hours: None,
            arc_hours_a_day: ARC_HOURS_A_DAY,
            grinds: None,
            weeks: None,
        });
    }
    booked.sort_by(|a, b| (a.start, &a.code).cmp(&(b.start, &b.code)));
    Ok(booked)
}

/// The parts that jobs use: those of their kit, or what their torch has fitted, without what they leave
/// out.
async fn parts_of_jobs(
    db: &impl ConnectionTrait,
    open: &[job_rows::Model],
) -> Result<BTreeMap<i64, BTreeSet<i64>>, Error> {
    let kits = open.iter().filter_map(|job| job.kit_id);
    let lines = store::kits::lines(db, kits).await?;
    let torches_of: Vec<i64> = open.iter().filter_map(|job| job.torch_id).collect();
    let fitted = torches::fitted_at(db, &torches_of, None).await?;
    let out = store::jobs::left_out(db, open.iter().map(|job| job.id)).await?;
    let parts = open.iter().map(|job| {
        let of_kit = |kit: i64| {
            let lines = lines.iter().filter(move |line| line.kit_id == kit);
            lines.map(|line| line.part_id).collect::<BTreeSet<i64>>()
        };
        let of_torch = |torch: i64| {
            let fitted = fitted.get(&torch).into_iter().flatten();
            fitted.copied().collect::<BTreeSet<i64>>()
        };
        let mut parts = match (job.kit_id, job.torch_id) {
            (Some(kit), _) => of_kit(kit),
            (None, Some(torch)) => of_torch(torch),
            (None, None) => BTreeSet::new(),
        };
        for row in out.iter().filter(|row| row.job_id == job.id) {
            parts.remove(&row.part_id);
        }
        (job.id, parts)
    });
    Ok(parts.collect())
}

/// The courses that use a part and begin within so many days.
pub(super) fn courses(
    booked: &[Booked],
    part: i64,
    (today, days): (NaiveDate, u32),
) -> Vec<String> {
    let courses = booked.iter().filter(|it| it.is_course && it.uses(part));
    let days = usize::try_from(days).unwrap_or(usize::MAX);
    let near = courses.filter(|it| it.begins_in(today).is_some_and(|day| day < days));
    near.map(|it| it.code.clone()).collect()
}
