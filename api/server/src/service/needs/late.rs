//! What cannot come in time: when it would, and how far what there is lasts until then.

use chrono::{Datelike, NaiveDate, Weekday};
use domain::exposure::{ArcTime, Driver};
use domain::job::JobLine;
use types::{Lasts, TooLate};

use super::Weighed;
use super::buying::Market;
use super::work::Work;
use crate::service::Error;

/// When what is short of a part would come, if it cannot come in time.
pub(super) fn of(part: &Weighed, work: &Work, market: &Market) -> Result<Option<TooLate>, Error> {
    if part.held_because.is_some() || part.after() >= part.need {
        return Ok(None);
    }
    let (earliest, last_order_by) = market.arrivals(part.part.id);
    let Some(first) = earliest
        .first()
        .map(|it| it.arrives)
        .filter(|day| *day >= work.start)
    else {
        return Ok(None);
    };
    Ok(Some(TooLate {
        lasts: lasts(part, work, first)?,
        earliest,
        last_order_by,
    }))
}

/// The chance that what there is lasts to the morning of the day it comes, and through that day, since
/// it comes during it. Work is taken to be done Monday to Friday.
fn lasts(part: &Weighed, work: &Work, arrives: NaiveDate) -> Result<Vec<Lasts>, Error> {
    let (Some(per_day), Some(all)) = (work.arc_per_day, work.size.arc) else {
        return Ok(Vec::new());
    };
    if part.learned.driver != Driver::ArcTime {
        return Ok(Vec::new());
    }
    let days = work.start.iter_days().take_while(|day| *day < arrives);
    let before = days.filter(|day| is_worked(*day)).count();
    let before = i64::try_from(before).unwrap_or(i64::MAX);
    let day = arrives.format("%A");
    let mut lasts = Vec::new();
    for (days, until) in [
        (before, format!("{day} morning")),
        (
            before.saturating_add(i64::from(is_worked(arrives))),
            format!("{day} evening"),
        ),
    ] {
        let seconds = per_day.seconds().saturating_mul(days).min(all.seconds());
        let arc =
            ArcTime::from_seconds(seconds).map_err(|error| Error::Internal(error.to_string()))?;
        let uses = part.learned.wear.predictive(arc.hours());
        let predictive = uses.map_err(|error| Error::Internal(error.to_string()))?;
        let line = JobLine {
            predictive,
            available: part.available + part.on_order.in_time,
        };
        lasts.push(Lasts {
            until,
            arc_minutes: seconds / 60,
            chance: line.chance_over(work.shared),
        });
    }
    Ok(lasts)
}

fn is_worked(day: NaiveDate) -> bool {
    !matches!(day.weekday(), Weekday::Sat | Weekday::Sun)
}
