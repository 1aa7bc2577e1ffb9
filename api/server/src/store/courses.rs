//! Queries on courses, what they practise and what they leave out.

use super::coded::coded;
use super::entity::{course_exercises as exercise, course_left_out as left_out};

coded!(courses);

/// The courses that are held at a site on some day from a first to a last, each as `2026-06-03`, by when
/// they start.
pub async fn held(
    db: &impl ConnectionTrait,
    site: i64,
    (first, last): (&str, &str),
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::Starts.lte(last))
        .filter(Column::Ends.gte(first))
        .order_by_asc(Column::Starts)
        .all(db)
        .await?)
}

/// What those courses practise, in their order.
pub async fn exercises(
    db: &impl ConnectionTrait,
    courses: impl IntoIterator<Item = i64>,
) -> Result<Vec<exercise::Model>, Error> {
    let courses: Vec<i64> = courses.into_iter().collect();
    Ok(exercise::Entity::find()
        .filter(exercise::Column::CourseId.is_in(courses))
        .order_by_asc(exercise::Column::Position)
        .all(db)
        .await?)
}

/// Replaces what a course practises.
pub async fn replace_exercises(
    db: &impl ConnectionTrait,
    course: i64,
    exercises: &[String],
) -> Result<(), Error> {
    exercise::Entity::delete_many()
        .filter(exercise::Column::CourseId.eq(course))
        .exec(db)
        .await?;
    let rows = exercises
        .iter()
        .zip(0..)
        .map(|(text, position)| exercise::ActiveModel {
            course_id: Set(course),
            position: Set(position),
            exercise: Set(text.trim().to_owned()),
        });
    if !exercises.is_empty() {
        exercise::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// The ids of the parts that those courses leave out.
pub async fn left_out(
    db: &impl ConnectionTrait,
    courses: impl IntoIterator<Item = i64>,
) -> Result<Vec<left_out::Model>, Error> {
    let courses: Vec<i64> = courses.into_iter().collect();
    Ok(left_out::Entity::find()
        .filter(left_out::Column::CourseId.is_in(courses))
        .all(db)
        .await?)
}

/// Replaces the parts that a course leaves out.
pub async fn replace_left_out(
    db: &impl ConnectionTrait,
    course: i64,
    parts: &[i64],
) -> Result<(), Error> {
    left_out::Entity::delete_many()
        .filter(left_out::Column::CourseId.eq(course))
        .exec(db)
        .await?;
    let rows = parts.iter().map(|part| left_out::ActiveModel {
        course_id: Set(course),
        part_id: Set(*part),
    });
    if !parts.is_empty() {
        left_out::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// Removes a course that nothing refers to.
///
/// # Errors
/// [`Error::Reference`] if something does.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
