//! Queries on signed equivalences and their withdrawals. Rows are only ever added.

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
};

use super::Error;
use super::entity::equivalence_withdrawals as withdrawals;
use super::entity::equivalences::{ActiveModel, Column, Entity, Model};

/// What was signed for those revisions, first signed first.
pub async fn of_revisions(
    db: &impl ConnectionTrait,
    revisions: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let revisions: Vec<i64> = revisions.into_iter().collect();
    if revisions.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::RevisionId.is_in(revisions))
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The withdrawals of those.
pub async fn withdrawals(
    db: &impl ConnectionTrait,
    equivalences: impl IntoIterator<Item = i64>,
) -> Result<Vec<withdrawals::Model>, Error> {
    let equivalences: Vec<i64> = equivalences.into_iter().collect();
    if equivalences.is_empty() {
        return Ok(Vec::new());
    }
    Ok(withdrawals::Entity::find()
        .filter(withdrawals::Column::EquivalenceId.is_in(equivalences))
        .all(db)
        .await?)
}

/// Adds a signature.
///
/// # Errors
/// [`Error::Conflict`] if the revision has one of that name.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// Adds a withdrawal.
///
/// # Errors
/// [`Error::Conflict`] if it was withdrawn before.
pub async fn withdraw(
    db: &impl ConnectionTrait,
    row: withdrawals::ActiveModel,
) -> Result<(), Error> {
    withdrawals::Entity::insert(row)
        .exec_without_returning(db)
        .await?;
    Ok(())
}
