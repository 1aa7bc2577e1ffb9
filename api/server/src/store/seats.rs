//! Queries on the seats of parts.

use super::coded::coded;

coded!(seats);

/// All seats that are known; a few dozen.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().order_by_asc(Column::CodeKey).all(db).await?)
}

/// Removes an entry.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
