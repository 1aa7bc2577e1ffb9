//! Queries on what torches lent to each other.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, Condition, ConnectionTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};

use super::Error;
use super::entity::borrowings::{ActiveModel, Column, Entity, Model};

/// A page of borrowings, the newest first, before that number.
pub async fn list(
    db: &impl ConnectionTrait,
    is_open: Option<bool>,
    (before, limit): (Option<i64>, u64),
) -> Result<Vec<Model>, Error> {
    let mut these = Condition::all();
    these = these.add_option(is_open.map(|is_open| {
        if is_open {
            Column::EndedAt.is_null()
        } else {
            Column::EndedAt.is_not_null()
        }
    }));
    these = these.add_option(before.map(|before| Column::Id.lt(before)));
    Ok(Entity::find()
        .filter(these)
        .order_by_desc(Column::Id)
        .limit(limit)
        .all(db)
        .await?)
}

/// What those torches lent and have not back.
pub async fn open_from(
    db: &impl ConnectionTrait,
    torches: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let torches: Vec<i64> = torches.into_iter().collect();
    Ok(Entity::find()
        .filter(Column::FromTorchId.is_in(torches))
        .filter(Column::EndedAt.is_null())
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// A part was lent.
pub async fn insert(
    db: &impl ConnectionTrait,
    part: i64,
    (from, to): (i64, i64),
    at: i64,
) -> Result<(), Error> {
    let row = ActiveModel {
        part_id: Set(part),
        from_torch_id: Set(from),
        to_torch_id: Set(to),
        borrowed_at: Set(at),
        ..Default::default()
    };
    row.insert(db).await?;
    Ok(())
}

/// A borrowing ended.
pub async fn end(db: &impl ConnectionTrait, id: i64, at: i64, how: &str) -> Result<(), Error> {
    let row = ActiveModel {
        ended_at: Set(Some(at)),
        ended_as: Set(Some(how.to_owned())),
        ..Default::default()
    };
    Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(id))
        .exec(db)
        .await?;
    Ok(())
}
