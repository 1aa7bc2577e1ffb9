//! A job that has begun: what of it is still to come, by what is logged on it. The rest is weighed as
//! any work is, from now on instead of from its start.

use chrono::{NaiveDate, NaiveDateTime};
use domain::exposure::{ArcTime, Grinds};
use domain::wear::JobSize;
use sea_orm::ConnectionTrait;
use types::{UnderWay, WorkSize};

use super::closing::told_size;
use super::work::Work;
use crate::service::Error;
use crate::service::known::View;
use crate::service::learned::short;
use crate::store;
use crate::store::work::{Of, Worked};

/// How far a job is.
#[derive(Clone, Debug)]
pub(super) struct Done {
    /// The day it began.
    pub(super) began: NaiveDate,
    planned: WorkSize,
    logged: WorkSize,
    to_come: WorkSize,
    says: String,
}

impl Done {
    /// As the contract has it.
    pub(super) fn told(&self, chance_once_here: Option<f64>) -> UnderWay {
        UnderWay {
            planned: self.planned,
            logged: self.logged,
            to_come: self.to_come,
            chance_once_here,
            says: self.says.clone(),
        }
    }
}

/// Takes off a job what is logged on it, if it has begun; it is planned from now on then.
///
/// # Errors
/// [`Error::WrongState`] where nothing is left to come.
pub(super) async fn rest(
    db: &impl ConnectionTrait,
    work: &mut Work,
    (job, view): (i64, View),
) -> Result<(), Error> {
    let Some(now) = work.begun(view) else {
        return Ok(());
    };
    let worked = store::work::worked(db, Of::Job(job), view.facts()).await?;
    let left = Left::of(work, &worked, now);
    if left.share <= 0.0 {
        let code = &work.code;
        return Err(Error::WrongState(format!(
            "job {code} is under way and nothing of it is to come: {}. Give it the size it will have in all, \
             move its start, close it, or ask as of an instant before it",
            left.logged_of
        )));
    }
    let fault = |error: domain::exposure::ExposureError| Error::Internal(error.to_string());
    let size = JobSize {
        arc: left
            .arc
            .map(ArcTime::from_seconds)
            .transpose()
            .map_err(fault)?,
        grinds: left.grinds.map(Grinds::new).transpose().map_err(fault)?,
        weeks: left.weeks,
        student_days: None,
    };
    for paper in work.papers.values_mut() {
        paper.amount = part_of(paper.amount, left.share);
        paper.from = format!(
            "{}, {} of it to come",
            paper.from,
            crate::service::learned::percent(left.share)
        );
    }
    let planned = std::mem::replace(&mut work.size, size);
    work.under_way = Some(Done {
        began: work.start,
        planned: told_size(&planned),
        logged: WorkSize {
            arc_minutes: planned.arc.map(|_| worked.arc_seconds / 60),
            grinds: planned.grinds.map(|_| worked.grinds),
            ..WorkSize::default()
        },
        to_come: told_size(&work.size),
        says: format!("{} is under way: {}.", work.code, left.logged_of),
    });
    work.start = now.date();
    Ok(())
}

/// What is left of a job.
struct Left {
    arc: Option<i64>,
    grinds: Option<i64>,
    weeks: Option<f64>,
    /// How much of the whole, 0 to 1.
    share: f64,
    /// `12 of 34 arc hours logged, 22 to come`
    logged_of: String,
}

impl Left {
    /// Each measure less what is logged of it. One of which nothing is logged shrinks with the others,
    /// and where nothing is logged at all only the weeks that passed are known to be over.
    fn of(work: &Work, worked: &Worked, now: NaiveDateTime) -> Self {
        let size = &work.size;
        let arc = size.arc.map(ArcTime::seconds);
        let grinds = size.grinds.map(|grinds| i64::from(grinds.get()));
        let by_arc = arc.map(|all| share(all - worked.arc_seconds, all));
        let by_grinds = grinds.map(|all| share(all - worked.grinds, all));
        let days = (now - work.start.and_time(work.start_time)).as_seconds_f64() / 86_400.0;
        let by_weeks = size.weeks.map(|all| 1.0 - (days / 7.0 / all).min(1.0));
        let of_arc = by_arc.filter(|_| worked.arc_seconds > 0);
        let of_grinds = by_grinds.filter(|_| worked.grinds > 0);
        // Without arc hours or grinds a job is as far as its weeks are.
        let of_weeks = by_weeks.filter(|_| arc.is_none() && grinds.is_none());
        let share = of_arc.or(of_grinds).or(of_weeks).unwrap_or(1.0);
        let hours = |seconds: i64| short(seconds_as_hours(seconds));
        let logged_of = match (arc, grinds, size.weeks) {
            (Some(all), _, _) if of_arc.is_some() || of_grinds.is_none() => format!(
                "{} of {} arc hours logged, {} to come",
                hours(worked.arc_seconds),
                hours(all),
                hours((all - worked.arc_seconds).max(0))
            ),
            (_, Some(all), _) => format!(
                "{} of {all} grinds logged, {} to come",
                worked.grinds,
                (all - worked.grinds).max(0)
            ),
            (_, _, Some(all)) => format!(
                "{} of {} normal weeks have passed, {} to come",
                short((days / 7.0).min(all)),
                short(all),
                short(all * share)
            ),
            _ => "its size is not known".to_owned(),
        };
        Self {
            arc: arc.map(|all| of_arc.map_or(part_of(all, share), |_| all - worked.arc_seconds)),
            grinds: grinds
                .map(|all| of_grinds.map_or(part_of(all, share), |_| all - worked.grinds)),
            weeks: size.weeks.map(|all| all * share),
            share,
            logged_of,
        }
    }
}

/// A part of the whole, 0 to 1.
fn share(left: i64, all: i64) -> f64 {
    if all <= 0 {
        return 0.0;
    }
    (real(left) / real(all)).clamp(0.0, 1.0)
}

fn seconds_as_hours(seconds: i64) -> f64 {
    real(seconds) / 3_600.0
}

/// A share of a whole amount, rounded up.
#[expect(clippy::cast_possible_truncation, reason = "no more than the amount")]
fn part_of(all: i64, share: f64) -> i64 {
    (real(all) * share).ceil() as i64
}

#[expect(
    clippy::cast_precision_loss,
    reason = "sizes of jobs end far below 2^53"
)]
fn real(number: i64) -> f64 {
    number as f64
}
