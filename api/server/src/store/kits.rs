//! Queries on kits and their lines.

use super::coded::coded;
use super::entity::kit_lines as line;

coded!(kits);

/// The lines of those kits, in their order.
pub async fn lines(
    db: &impl ConnectionTrait,
    kits: impl IntoIterator<Item = i64>,
) -> Result<Vec<line::Model>, Error> {
    let kits: Vec<i64> = kits.into_iter().collect();
    Ok(line::Entity::find()
        .filter(line::Column::KitId.is_in(kits))
        .order_by_asc(line::Column::Position)
        .all(db)
        .await?)
}

/// Replaces the lines of a kit: part and quantity.
pub async fn replace_lines(
    db: &impl ConnectionTrait,
    kit: i64,
    lines: &[(i64, i64)],
) -> Result<(), Error> {
    line::Entity::delete_many()
        .filter(line::Column::KitId.eq(kit))
        .exec(db)
        .await?;
    let rows = lines
        .iter()
        .zip(0..)
        .map(|((part, quantity), position)| line::ActiveModel {
            kit_id: Set(kit),
            part_id: Set(*part),
            quantity: Set(*quantity),
            position: Set(position),
        });
    line::Entity::insert_many(rows)
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// Removes a kit that nothing refers to.
///
/// # Errors
/// [`Error::Reference`] if something does.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}
