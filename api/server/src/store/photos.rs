//! Queries on the photos of drawers. A list never reads the pictures themselves.

use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, FromQueryResult, PaginatorTrait,
    QueryFilter, QueryOrder, QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::drawer_photos::{ActiveModel, Column, Entity, Model};

/// A photo without its picture.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Label {
    /// Names the photo.
    pub id: Uuid,
    /// The media type.
    pub media_type: String,
    /// The size of the picture.
    pub bytes: i64,
    /// When it was added, in microseconds.
    pub added_at: i64,
}

const LABEL: [Column; 4] = [
    Column::Id,
    Column::MediaType,
    Column::Bytes,
    Column::AddedAt,
];

/// A page of the photos of a drawer, oldest first.
pub async fn list(
    db: &impl ConnectionTrait,
    drawer: i64,
    after: Option<Uuid>,
    limit: u64,
) -> Result<Vec<Label>, Error> {
    let mut query = Entity::find()
        .select_only()
        .columns(LABEL)
        .filter(Column::DrawerId.eq(drawer))
        .order_by_asc(Column::Id)
        .limit(limit);
    if let Some(after) = after {
        query = query.filter(Column::Id.gt(after));
    }
    Ok(query.into_model::<Label>().all(db).await?)
}

/// The same picture of a drawer, if it is there already.
pub async fn same(
    db: &impl ConnectionTrait,
    drawer: i64,
    digest: &str,
) -> Result<Option<Label>, Error> {
    let query = Entity::find()
        .select_only()
        .columns(LABEL)
        .filter(Column::DrawerId.eq(drawer))
        .filter(Column::Digest.eq(digest));
    Ok(query.into_model::<Label>().all(db).await?.pop())
}

/// How many photos a drawer has.
pub async fn number(db: &impl ConnectionTrait, drawer: i64) -> Result<u64, Error> {
    Ok(Entity::find()
        .filter(Column::DrawerId.eq(drawer))
        .count(db)
        .await?)
}

/// A photo of a drawer with its picture, if there is one of that id.
pub async fn find(
    db: &impl ConnectionTrait,
    drawer: i64,
    id: Uuid,
) -> Result<Option<Model>, Error> {
    let question = Entity::find()
        .filter(Column::Id.eq(id))
        .filter(Column::DrawerId.eq(drawer));
    super::only(db, question).await
}

/// Adds a photo.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<(), Error> {
    row.insert(db).await?;
    Ok(())
}

/// Removes a photo of a drawer; whether there was one of that id.
pub async fn delete(db: &impl ConnectionTrait, drawer: i64, id: Uuid) -> Result<bool, Error> {
    let done = Entity::delete_many()
        .filter(Column::Id.eq(id))
        .filter(Column::DrawerId.eq(drawer))
        .exec(db)
        .await?;
    Ok(done.rows_affected == 1)
}
