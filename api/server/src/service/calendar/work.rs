//! The events of jobs and courses: their starts and days, their preparation, and the hours by which what
//! they are short of is to be ordered. That they are short, and by when to order, is told by `needs`.

use std::collections::BTreeMap;

use chrono::NaiveDateTime;
use sea_orm::ConnectionTrait;
use types::{NeedLine, Needs};

use super::{Event, PREPARATION, Place, When};
use crate::service::{Error, courses, instant, jobs, needs};
use crate::store;
use crate::store::entity::courses as rows;

/// The starts of jobs that are open, and their order-by times.
pub(super) async fn jobs(
    db: &impl ConnectionTrait,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<(), Error> {
    for job in store::work::open_jobs(db, place.site.id).await? {
        let start = jobs::start(&job)?;
        if !place.shows(start, start) {
            continue;
        }
        let named = if job.name == job.code {
            String::new()
        } else {
            format!(": {}", job.name)
        };
        let begins = instant::of_local(start.and_time(jobs::start_time(&job)), place.zone);
        events.push(Event {
            id: place.ids.of(&["job", &job.code_key]),
            kind: "job",
            when: When::At(begins),
            summary: format!("{} starts{named}", job.code),
            detail: format!("At {}.", place.site.name),
            edits: job.version - 1,
        });
        let needs = needs::of_job(db, &job.code, place.view).await;
        if let Some(needs) = weighed(needs)? {
            deadlines(&needs, ("job", &job.code_key), place, events);
        }
    }
    Ok(())
}

/// The days of courses that are open, their preparation, and their order-by times.
pub(super) async fn courses(
    db: &impl ConnectionTrait,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<(), Error> {
    for course in store::work::open_courses(db, place.site.id).await? {
        if !course_days(&course, place, events)? {
            continue;
        }
        let needs = needs::of_course(db, &course.code, place.view).await;
        if let Some(course_needs) = weighed(needs)? {
            let of = ("course", course.code_key.as_str());
            deadlines(&course_needs.needs, of, place, events);
        }
    }
    Ok(())
}

/// The days of a course and of its preparation; whether any of them is near enough to be shown.
fn course_days(
    course: &rows::Model,
    place: &Place,
    events: &mut Vec<Event>,
) -> Result<bool, Error> {
    let first = courses::day(&course.starts, &course.code)?;
    let last = courses::day(&course.ends, &course.code)?;
    let prepare = first.checked_sub_signed(PREPARATION).unwrap_or(first);
    let named = if course.name == course.code {
        course.code.clone()
    } else {
        format!("{}: {}", course.code, course.name)
    };
    let (heads, stations) = (course.heads, course.stations);
    if place.shows(first, last) {
        events.push(Event {
            id: place.ids.of(&["course", &course.code_key]),
            kind: "course",
            when: When::Days(first, last),
            summary: named.clone(),
            detail: format!(
                "{heads} heads, {stations} stations, at {}.",
                place.site.name
            ),
            edits: course.version - 1,
        });
    }
    if place.shows(prepare, prepare) {
        let begins = first.format("%a %-d %b");
        events.push(Event {
            id: place.ids.of(&["preparation", &course.code_key]),
            kind: "preparation",
            when: When::Days(prepare, prepare),
            summary: format!("Prepare {named}"),
            detail: format!(
                "It begins {begins}. Next: see what it needs, order, and lay out {stations} kits."
            ),
            edits: course.version - 1,
        });
    }
    Ok(place.shows(prepare, last))
}

/// What was weighed; nothing of work that cannot be, such as what is over or has no part that counts.
fn weighed<T>(needs: Result<T, Error>) -> Result<Option<T>, Error> {
    match needs {
        Err(Error::WrongState(_)) => Ok(None),
        needs => needs.map(Some),
    }
}

/// The order-by times of a piece of work, one a supplier who can be asked last.
fn deadlines(needs: &Needs, (kind, key): (&str, &str), place: &Place, events: &mut Vec<Event>) {
    let mut by: BTreeMap<(NaiveDateTime, &str), Vec<&NeedLine>> = BTreeMap::new();
    for line in &needs.lines {
        if let Some(last) = &line.last_order {
            by.entry((last.at, &last.supplier)).or_default().push(line);
        }
    }
    for ((local, supplier), lines) in by {
        if !place.shows(local.date(), local.date()) {
            continue;
        }
        let parts: Vec<&str> = lines.iter().map(|line| line.part.as_str()).collect();
        let mut detail: Vec<&str> = needs.says.iter().take(1).map(String::as_str).collect();
        detail.extend(lines.iter().map(|line| line.why.as_str()));
        let last = format!("{supplier} is the last who can deliver in time.");
        detail.push(&last);
        events.push(Event {
            id: place.ids.of(&["order by", kind, key, supplier]),
            kind: "order by",
            when: When::At(instant::of_local(local, place.zone)),
            summary: format!(
                "Order by {} for {}: {}",
                local.format("%a %-d %b %H:%M"),
                needs.job,
                parts.join(", ")
            ),
            detail: detail.join("\n"),
            edits: 0,
        });
    }
}
