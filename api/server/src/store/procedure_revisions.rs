//! Queries on revisions of written procedures. Rows are only ever added.

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
};

use super::Error;
use super::entity::procedure_revisions::{ActiveModel, Column, Entity, Model};

/// The revisions of those procedures, oldest first.
pub async fn of_procedures(
    db: &impl ConnectionTrait,
    procedures: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let procedures: Vec<i64> = procedures.into_iter().collect();
    if procedures.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::ProcedureId.is_in(procedures))
        .order_by_asc(Column::Revision)
        .all(db)
        .await?)
}

/// The rows of those ids, in no particular order.
pub async fn get_many(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let ids: Vec<i64> = ids.into_iter().collect();
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find().filter(Column::Id.is_in(ids)).all(db).await?)
}

/// Adds a revision.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}
