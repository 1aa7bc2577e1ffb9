//! What is to be done next, in the order of time: orders that are overdue, parts of which none is left,
//! questions, the hours by which to order, and work that cannot run.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Days, NaiveDateTime};
use sea_orm::ConnectionTrait;
use types::{NeedLine, Needs, NextStep};

use super::Between;
use crate::service::ledger::book;
use crate::service::{Error, courses, instant, jobs, known, needs, torches};
use crate::store;
use crate::store::questions::{OPEN, Which};

/// Work that starts within so many days is looked at.
const DAYS_AHEAD: u64 = 14;
/// More torches than any shop has.
const TORCHES_MAX: u64 = 5_000;

/// What is to be done, the first first.
pub(super) async fn steps(
    db: &impl ConnectionTrait,
    between: &Between,
) -> Result<Vec<NextStep>, Error> {
    let mut steps = late(between)?;
    steps.extend(none_left(db, between).await?);
    steps.extend(questions(db, between).await?);
    steps.extend(work(db, between).await?);
    steps.sort_by_key(|step| step.at);
    Ok(steps)
}

/// Orders that are overdue.
fn late(between: &Between) -> Result<Vec<NextStep>, Error> {
    let today = between.to().with_timezone(&between.zone).date_naive();
    let mut steps = Vec::new();
    for it in between.expected.iter().filter(|it| it.due < today) {
        let mut goods = Vec::new();
        for (part, pieces) in it.to_come() {
            goods.push(between.amount(part, pieces)?);
        }
        let (number, supplier) = (it.order.id, &it.supplier.code);
        let (goods, due) = (goods.join(", "), it.due.format("%a %-d %b"));
        steps.push(NextStep {
            kind: "late".to_owned(),
            at: instant::start_of_day(it.due, between.zone),
            subject: number.to_string(),
            says: format!(
                "Order {number} was due {due}: {goods}. Next: ask {supplier}, and receive or cancel it."
            ),
        });
    }
    Ok(steps)
}

/// Parts that are fitted in torches and of which none is left.
async fn none_left(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<NextStep>, Error> {
    let torches_here = store::torches::list(db, None, TORCHES_MAX).await?;
    let ids: Vec<i64> = torches_here
        .iter()
        .filter(|torch| torch.site_id == between.site.id)
        .map(|torch| torch.id)
        .collect();
    let fitted = torches::fitted_at(db, &ids, None).await?;
    let fitted: BTreeSet<i64> = fitted.into_values().flatten().collect();
    let ids: Vec<i64> = fitted.into_iter().collect();
    let levels = known::levels(db, between.view, (between.site.id, &ids)).await?;
    let mut steps = Vec::new();
    for part in ids.iter().filter_map(|id| between.parts.get(id)) {
        let book = levels.get(&part.id).copied().unwrap_or_default();
        let level = book::level(&book, part, &between.site);
        if level.usable() > 0 {
            continue;
        }
        let coming = between.expected.iter().find(|it| {
            let mut to_come = it.to_come();
            to_come.any(|(id, _)| id == part.id)
        });
        let next = match coming {
            Some(it) => format!(
                "order {} brings some, due {}.",
                it.order.id,
                it.due.format("%a %-d %b")
            ),
            None if level.on_hand < 0 => "the book is below zero. Next: count it.".to_owned(),
            None => "nothing is on order. Next: order it, or count it if there is some.".to_owned(),
        };
        steps.push(NextStep {
            kind: "none-left".to_owned(),
            at: between.to(),
            subject: part.code.clone(),
            says: format!("{}: none available; {next}", part.code),
        });
    }
    Ok(steps)
}

/// All questions that wait, in one line.
async fn questions(
    db: &impl ConnectionTrait,
    between: &Between,
) -> Result<Option<NextStep>, Error> {
    let which = Which {
        state: Some(OPEN.to_owned()),
        site: Some(between.site.id),
        ..Which::default()
    };
    let open = store::questions::list(db, which, 500).await?;
    let Some(oldest) = open.last() else {
        return Ok(None);
    };
    let many = match open.len() {
        1 => "1 question waits".to_owned(),
        more => format!("{more} questions wait"),
    };
    Ok(Some(NextStep {
        kind: "question".to_owned(),
        at: between.to(),
        subject: oldest.id.to_string(),
        says: format!("{many} for an answer, the oldest: {}", oldest.says),
    }))
}

/// By when to order for work that is near, and what of it cannot run.
async fn work(db: &impl ConnectionTrait, between: &Between) -> Result<Vec<NextStep>, Error> {
    let today = between.to().with_timezone(&between.zone).date_naive();
    let last = today.checked_add_days(Days::new(DAYS_AHEAD));
    // What has begun and is not closed is near as well.
    let is_near = |start| last.is_none_or(|last| start <= last);
    let mut weighed = Vec::new();
    for job in store::work::open_jobs(db, between.site.id).await? {
        if is_near(jobs::start(&job)?) {
            weighed.push(needs::of_job(db, &job.code, between.view).await);
        }
    }
    for course in store::work::open_courses(db, between.site.id).await? {
        if is_near(courses::day(&course.starts, &course.code)?) {
            let needs = needs::of_course(db, &course.code, between.view).await;
            weighed.push(needs.map(|it| it.needs));
        }
    }
    let mut steps = Vec::new();
    for needs in weighed {
        match needs {
            Ok(needs) => {
                steps.extend(order_by(&needs, between));
                steps.extend(blocked(&needs, between));
            }
            // What is over, or has no part that counts, is not weighed.
            Err(Error::WrongState(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(steps)
}

/// The hours by which to order for a piece of work that have not passed.
fn order_by(needs: &Needs, between: &Between) -> Vec<NextStep> {
    let mut by: BTreeMap<(NaiveDateTime, &str), Vec<&str>> = BTreeMap::new();
    for line in &needs.lines {
        if let Some(last) = &line.last_order {
            let parts = by.entry((last.at, &last.supplier)).or_default();
            parts.push(&line.part);
        }
    }
    let steps = by.into_iter().map(|((local, supplier), parts)| NextStep {
        kind: "order-by".to_owned(),
        at: instant::of_local(local, between.zone),
        subject: needs.job.clone(),
        says: format!(
            "Order by {} for {}: {}; {supplier} is the last who can deliver in time.",
            local.format("%a %-d %b %H:%M"),
            needs.job,
            parts.join(", ")
        ),
    });
    steps.filter(|step| step.at >= between.to()).collect()
}

/// That a piece of work cannot run: it is short of what nobody delivers in time, or what it would use is
/// not permitted, and nothing that is permitted covers it.
fn blocked(needs: &Needs, between: &Between) -> Option<NextStep> {
    let is_covered = |line: &NeedLine| {
        let allowed = needs.procedure.iter().flat_map(|it| &it.allowed);
        let mut covering = allowed.filter(|other| other.covers);
        covering.any(|other| other.instead_of == line.part)
    };
    let is_wanting = |line: &&NeedLine| {
        let cannot_come = line.short > 0 && (line.order.is_none() || line.late.is_some());
        (cannot_come && !is_covered(line)) || line.held_because.is_some()
    };
    let wanting = needs.lines.iter().filter(is_wanting);
    let parts: Vec<&str> = wanting
        .map(|line| line.part.as_str())
        .chain(needs.lent.iter().map(String::as_str))
        .collect();
    if parts.is_empty() {
        return None;
    }
    let time = needs.start_time.parse().unwrap_or_default();
    let start = needs.start.and_time(time);
    let job = &needs.job;
    let when = if needs.under_way.is_some() {
        "is under way".to_owned()
    } else {
        format!("starts {}", start.format("%a %-d %b %H:%M"))
    };
    Some(NextStep {
        kind: "blocked".to_owned(),
        at: instant::of_local(start, between.zone),
        subject: job.clone(),
        says: format!(
            "{job} {when} without enough of {}, and no order mends that in time. Next: see what {job} needs.",
            parts.join(", ")
        ),
    })
}
