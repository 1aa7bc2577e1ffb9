//! Courses, as they are set up. What one needs is in `needs`.

use std::collections::HashMap;

use chrono::NaiveDate;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{COURSE_GROUP_DEFAULT, CheckedCourse, Course, CoursePage, NewCourse, Page};

use super::warnings::acted;
use super::{Context, Error, codes, instant};
use crate::store::{self, entity::courses, work::Of};

mod pushed;

/// How a day is kept.
const DAY: &str = "%Y-%m-%d";

/// A page of courses.
pub async fn list(context: &Context, page: &Page) -> Result<CoursePage, Error> {
    let db = context.store.read();
    let rows = store::courses::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(CoursePage {
        courses: views(db, rows).await?,
        next,
    })
}

/// One course.
pub async fn get(context: &Context, code: &str) -> Result<Course, Error> {
    let db = context.store.read();
    view(db, codes::course(db, code).await?).await
}

/// Sets up a course.
pub async fn create(context: &Context, new: NewCourse) -> Result<Course, Error> {
    let checked = new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            not_a_job(tx, &new.code).await?;
            let row = row(tx, &new, &checked).await?;
            let row = store::courses::insert(tx, row)
                .await
                .map_err(codes::taken("course", &new.code))?;
            replace_lists(tx, row.id, &new).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces a course.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewCourse,
) -> Result<Course, Error> {
    codes::keep_code(code, &new.code)?;
    let checked = new.check()?;
    let (code, now) = (code.to_owned(), context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::course(tx, &code).await?;
            codes::check_version("course", &old.code, old.version, seen)?;
            let row = courses::ActiveModel {
                code: NotSet,
                code_key: NotSet,
                ..row(tx, &new, &checked).await?
            };
            store::courses::update(tx, (old.id, old.version), row).await?;
            replace_lists(tx, old.id, &new).await?;
            let edited = codes::course(tx, &code).await?;
            if let Some(says) = acted::eased_course(&old, &edited) {
                acted::note(tx, Of::Course(edited.id), (says, now)).await?;
            }
            view(tx, edited).await
        })
    });
    write.await
}

/// Removes a course that nothing was logged or ordered for.
pub async fn delete(context: &Context, code: &str, seen: i64) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::course(tx, &code).await?;
            codes::check_version("course", &old.code, old.version, seen)?;
            if store::work::is_on_record(tx, Of::Course(old.id)).await? {
                return Err(Error::InUse {
                    kind: "course",
                    key: old.code,
                    remedy: "something was logged or ordered for it, so it stays on record",
                });
            }
            Ok(store::courses::delete(tx, old.id).await?)
        })
    });
    write.await
}

/// A code names a job or a course, so that whoever plans it need not say which.
async fn not_a_job(db: &impl ConnectionTrait, code: &str) -> Result<(), Error> {
    if store::jobs::find(db, code).await?.is_none() {
        return Ok(());
    }
    Err(Error::invalid(
        "/code",
        format!("{code} is the code of a job; choose another one for the course"),
    ))
}

async fn row(
    db: &impl ConnectionTrait,
    new: &NewCourse,
    checked: &CheckedCourse,
) -> Result<courses::ActiveModel, Error> {
    let site = codes::site_or_first(db, "/site", new.site.as_deref()).await?;
    let kit = codes::named_kit(db, "/kit", &new.kit).await?;
    let group = new.group.clone();
    let day = |day: NaiveDate| day.format(DAY).to_string();
    Ok(courses::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        site_id: Set(site.id),
        kit_id: Set(kit.id),
        operator_group: Set(group.unwrap_or_else(|| COURSE_GROUP_DEFAULT.to_owned())),
        starts: Set(day(new.starts)),
        ends: Set(day(checked.ends)),
        heads: Set(i64::from(checked.size.heads())),
        days: Set(i64::from(checked.size.days())),
        stations: Set(i64::from(checked.size.stations())),
        target: Set(checked.target.get()),
        clumsiness: Set(checked.clumsiness.spread()),
        grinds_per_student_day: Set(new.grinds_per_student_day),
        minutes_between_visits: Set(new.minutes_between_visits),
        minutes_a_day: Set(new.minutes_a_day),
        version: Set(1),
        ..Default::default()
    })
}

async fn replace_lists(
    db: &impl ConnectionTrait,
    course: i64,
    new: &NewCourse,
) -> Result<(), Error> {
    let told: Vec<&str> = new.left_out.iter().map(String::as_str).collect();
    let parts = codes::named_parts(db, &told, |index| format!("/left_out/{index}")).await?;
    let mut ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    ids.sort_unstable();
    ids.dedup();
    store::courses::replace_left_out(db, course, &ids).await?;
    Ok(store::courses::replace_exercises(db, course, &new.exercises).await?)
}

/// A day of a course, from its column.
pub fn day(text: &str, course: &str) -> Result<NaiveDate, Error> {
    NaiveDate::parse_from_str(text, DAY)
        .map_err(|_| Error::Internal(format!("a day of course {course} cannot be read back")))
}

/// What was given to set a course up.
///
/// # Errors
/// [`Error::Internal`] if the row does not hold what a check lets in.
pub(super) async fn given(
    db: &impl ConnectionTrait,
    row: courses::Model,
) -> Result<NewCourse, Error> {
    Ok(view(db, row).await?.into_new())
}

async fn views(db: &impl ConnectionTrait, rows: Vec<courses::Model>) -> Result<Vec<Course>, Error> {
    let ids = || rows.iter().map(|row| row.id);
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let kits = store::kits::get_many(db, rows.iter().map(|row| row.kit_id)).await?;
    let sites: HashMap<i64, String> = sites.into_iter().map(|row| (row.id, row.code)).collect();
    let kits: HashMap<i64, String> = kits.into_iter().map(|row| (row.id, row.code)).collect();
    let exercises = store::courses::exercises(db, ids()).await?;
    let out = store::courses::left_out(db, ids()).await?;
    let parts = store::parts::get_many(db, out.iter().map(|row| row.part_id)).await?;
    let view = |row: &courses::Model| {
        let own = exercises.iter().filter(|it| it.course_id == row.id);
        let left_out = out.iter().filter(|it| it.course_id == row.id);
        let left_out = left_out.filter_map(|it| parts.iter().find(|part| part.id == it.part_id));
        let new = NewCourse {
            code: row.code.clone(),
            name: Some(row.name.clone()),
            site: sites.get(&row.site_id).cloned(),
            kit: kits.get(&row.kit_id).cloned().unwrap_or_default(),
            starts: day(&row.starts, &row.code)?,
            ends: Some(day(&row.ends, &row.code)?),
            heads: row.heads,
            days: Some(row.days),
            stations: row.stations,
            exercises: own.map(|it| it.exercise.clone()).collect(),
            group: Some(row.operator_group.clone()),
            target: Some(row.target),
            clumsiness: Some(row.clumsiness),
            grinds_per_student_day: row.grinds_per_student_day,
            minutes_between_visits: row.minutes_between_visits,
            minutes_a_day: row.minutes_a_day,
            left_out: left_out.map(|part| part.code.clone()).collect(),
        };
        let closed_at = row.closed_at.map(instant::from_micros);
        Ok(new.into_view(row.heads * row.days, closed_at, row.version))
    };
    rows.iter().map(view).collect()
}

async fn view(db: &impl ConnectionTrait, row: courses::Model) -> Result<Course, Error> {
    let lost = || Error::Internal("a course was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
