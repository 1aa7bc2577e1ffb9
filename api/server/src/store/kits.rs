//! Queries on kits and their lines.

use super::coded::coded;
use super::entity::{kit_alternatives as alternative, kit_lines as line};

coded!(kits);

/// The lines of all kits.
pub async fn all_lines(db: &impl ConnectionTrait) -> Result<Vec<line::Model>, Error> {
    Ok(line::Entity::find().all(db).await?)
}

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

/// The other parts that will do in the slots of those kits, in their order.
pub async fn alternatives(
    db: &impl ConnectionTrait,
    kits: impl IntoIterator<Item = i64>,
) -> Result<Vec<alternative::Model>, Error> {
    let kits: Vec<i64> = kits.into_iter().collect();
    Ok(alternative::Entity::find()
        .filter(alternative::Column::KitId.is_in(kits))
        .order_by_asc(alternative::Column::Position)
        .all(db)
        .await?)
}

/// A slot of a kit: part, quantity, and other parts that will do.
#[derive(Debug)]
pub struct Slot {
    /// The part.
    pub part: i64,
    /// How many of it.
    pub quantity: i64,
    /// Other parts that will do.
    pub alternatives: Vec<i64>,
}

/// Replaces the slots of a kit.
pub async fn replace_lines(
    db: &impl ConnectionTrait,
    kit: i64,
    slots: &[Slot],
) -> Result<(), Error> {
    line::Entity::delete_many()
        .filter(line::Column::KitId.eq(kit))
        .exec(db)
        .await?;
    let rows = slots
        .iter()
        .zip(0..)
        .map(|(slot, position)| line::ActiveModel {
            kit_id: Set(kit),
            part_id: Set(slot.part),
            quantity: Set(slot.quantity),
            position: Set(position),
        });
    line::Entity::insert_many(rows)
        .exec_without_returning(db)
        .await?;
    let rows = slots.iter().flat_map(|slot| {
        let others = slot.alternatives.iter().zip(0..);
        others.map(|(other, position)| alternative::ActiveModel {
            kit_id: Set(kit),
            part_id: Set(slot.part),
            alternative_id: Set(*other),
            position: Set(position),
        })
    });
    let rows: Vec<alternative::ActiveModel> = rows.collect();
    if !rows.is_empty() {
        alternative::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
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
