//! Queries on jobs and what they leave out.

use super::coded::coded;
use super::entity::job_left_out as left_out;

coded!(jobs);

/// The ids of the parts that those jobs leave out.
pub async fn left_out(
    db: &impl ConnectionTrait,
    jobs: impl IntoIterator<Item = i64>,
) -> Result<Vec<left_out::Model>, Error> {
    let jobs: Vec<i64> = jobs.into_iter().collect();
    Ok(left_out::Entity::find()
        .filter(left_out::Column::JobId.is_in(jobs))
        .all(db)
        .await?)
}

/// Replaces the parts that a job leaves out.
pub async fn replace_left_out(
    db: &impl ConnectionTrait,
    job: i64,
    parts: &[i64],
) -> Result<(), Error> {
    left_out::Entity::delete_many()
        .filter(left_out::Column::JobId.eq(job))
        .exec(db)
        .await?;
    let rows = parts.iter().map(|part| left_out::ActiveModel {
        job_id: Set(job),
        part_id: Set(*part),
    });
    if !parts.is_empty() {
        left_out::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// Removes a job that nothing refers to.
///
/// # Errors
/// [`Error::Reference`] if something does.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
