//! Queries on jobs, their weld lists and gas, and what they leave out.

use super::coded::coded;
use super::entity::{job_gas as gas, job_left_out as left_out, job_welds as weld};

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

/// The weld lists of those jobs, in their order.
pub async fn welds(
    db: &impl ConnectionTrait,
    jobs: impl IntoIterator<Item = i64>,
) -> Result<Vec<weld::Model>, Error> {
    let jobs: Vec<i64> = jobs.into_iter().collect();
    Ok(weld::Entity::find()
        .filter(weld::Column::JobId.is_in(jobs))
        .order_by_asc(weld::Column::Position)
        .all(db)
        .await?)
}

/// Replaces the weld list of a job.
pub async fn replace_welds(
    db: &impl ConnectionTrait,
    job: i64,
    rows: Vec<weld::ActiveModel>,
) -> Result<(), Error> {
    weld::Entity::delete_many()
        .filter(weld::Column::JobId.eq(job))
        .exec(db)
        .await?;
    if !rows.is_empty() {
        weld::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// The shielding gas of those jobs.
pub async fn gas(
    db: &impl ConnectionTrait,
    jobs: impl IntoIterator<Item = i64>,
) -> Result<Vec<gas::Model>, Error> {
    let jobs: Vec<i64> = jobs.into_iter().collect();
    Ok(gas::Entity::find()
        .filter(gas::Column::JobId.is_in(jobs))
        .all(db)
        .await?)
}

/// Replaces the shielding gas of a job.
pub async fn replace_gas(
    db: &impl ConnectionTrait,
    job: i64,
    row: Option<gas::ActiveModel>,
) -> Result<(), Error> {
    gas::Entity::delete_many()
        .filter(gas::Column::JobId.eq(job))
        .exec(db)
        .await?;
    if let Some(row) = row {
        gas::Entity::insert(row).exec_without_returning(db).await?;
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
