//! Queries on offers.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::offer_breaks as price_break;
use super::entity::offers::{ActiveModel, Column, Entity, Model};

/// The offer of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// All offers of those parts.
pub async fn of_parts(
    db: &impl ConnectionTrait,
    parts: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    Ok(Entity::find()
        .filter(Column::PartId.is_in(parts))
        .order_by_asc(Column::Id)
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

/// Adds an offer.
pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
    Ok(row.insert(db).await?)
}

/// Replaces the columns that are set, if the row is still at `version`; whether it was.
pub async fn update(
    db: &impl ConnectionTrait,
    (id, version): (Uuid, i64),
    mut row: ActiveModel,
) -> Result<bool, Error> {
    row.version = Set(version + 1);
    let done = Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(id))
        .filter(Column::Version.eq(version))
        .exec(db)
        .await?;
    Ok(done.rows_affected == 1)
}

/// Removes an offer.
pub async fn delete(db: &impl ConnectionTrait, id: Uuid) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}

/// The price breaks of those offers, by rising packs.
pub async fn breaks(
    db: &impl ConnectionTrait,
    offers: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<price_break::Model>, Error> {
    let offers: Vec<Uuid> = offers.into_iter().collect();
    Ok(price_break::Entity::find()
        .filter(price_break::Column::OfferId.is_in(offers))
        .order_by_asc(price_break::Column::PacksMin)
        .all(db)
        .await?)
}

/// Replaces the price breaks of an offer: packs, and the price of one.
pub async fn replace_breaks(
    db: &impl ConnectionTrait,
    offer: Uuid,
    breaks: &[(i64, i64)],
) -> Result<(), Error> {
    price_break::Entity::delete_many()
        .filter(price_break::Column::OfferId.eq(offer))
        .exec(db)
        .await?;
    let rows = breaks
        .iter()
        .map(|(packs, price)| price_break::ActiveModel {
            offer_id: Set(offer),
            packs_min: Set(*packs),
            price_minor: Set(*price),
        });
    if !breaks.is_empty() {
        price_break::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
