//! Queries on keys.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, PaginatorTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::keys::{ActiveModel, Column, Entity, Model};

/// How many keys there are, revoked ones included.
pub async fn count(db: &impl ConnectionTrait) -> Result<u64, Error> {
    Ok(Entity::find().count(db).await?)
}

/// The key of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// All keys that were not revoked; some of them may have expired.
pub async fn working(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::RevokedAt.is_null())
        .all(db)
        .await?)
}

/// A page, oldest first.
pub async fn list(
    db: &impl ConnectionTrait,
    after: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut query = Entity::find().order_by_asc(Column::Id).limit(limit);
    if let Some(after) = after {
        query = query.filter(Column::Id.gt(after));
    }
    Ok(query.all(db).await?)
}

/// Adds a key.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// What a rotation changes.
#[derive(Clone, Debug)]
pub struct Rotation {
    /// The hash of the new secret.
    pub hash: String,
    /// Its first characters.
    pub prefix: String,
    /// The hash of the old secret and until when that one works, if it still does.
    pub old: Option<(String, i64)>,
    /// When the key expires.
    pub expires_at: Option<i64>,
}

/// Gives a key that works another secret.
pub async fn rotate(db: &impl ConnectionTrait, id: Uuid, rotation: Rotation) -> Result<(), Error> {
    let (old_hash, old_works_until) = rotation.old.unzip();
    Entity::update_many()
        .set(ActiveModel {
            hash: Set(rotation.hash),
            prefix: Set(rotation.prefix),
            old_hash: Set(old_hash),
            old_works_until: Set(old_works_until),
            expires_at: Set(rotation.expires_at),
            ..Default::default()
        })
        .filter(Column::Id.eq(id))
        .filter(Column::RevokedAt.is_null())
        .exec(db)
        .await?;
    Ok(())
}

/// Revokes a key that works.
pub async fn revoke(db: &impl ConnectionTrait, id: Uuid, at: i64) -> Result<(), Error> {
    Entity::update_many()
        .set(ActiveModel {
            revoked_at: Set(Some(at)),
            ..Default::default()
        })
        .filter(Column::Id.eq(id))
        .filter(Column::RevokedAt.is_null())
        .exec(db)
        .await?;
    Ok(())
}
