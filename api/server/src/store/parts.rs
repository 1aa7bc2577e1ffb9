//! Queries on parts and their starting assumptions.

use super::coded::coded;
use super::entity::starting_assumptions as assumption;

coded!(parts);

/// Removes a part that nothing refers to.
///
/// # Errors
/// [`Error::Reference`] if something does.
pub async fn delete(db: &impl ConnectionTrait, id: i64) -> Result<(), Error> {
    Entity::delete_by_id(id).exec(db).await?;
    Ok(())
}

/// The electrodes of those diameters, by code.
pub async fn electrodes(
    db: &impl ConnectionTrait,
    diameters_um: impl IntoIterator<Item = i64>,
) -> Result<Vec<Model>, Error> {
    let diameters: Vec<i64> = diameters_um.into_iter().collect();
    if diameters.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .filter(Column::Kind.eq("electrode"))
        .filter(Column::DiameterUm.is_in(diameters))
        .order_by_asc(Column::CodeKey)
        .all(db)
        .await?)
}

/// The parts of those kinds, by code.
pub async fn of_kinds(
    db: &impl ConnectionTrait,
    kinds: impl IntoIterator<Item = &str>,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::Kind.is_in(kinds))
        .order_by_asc(Column::CodeKey)
        .all(db)
        .await?)
}

/// The starting assumptions of those parts.
pub async fn assumptions(
    db: &impl ConnectionTrait,
    parts: impl IntoIterator<Item = i64>,
) -> Result<Vec<assumption::Model>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    Ok(assumption::Entity::find()
        .filter(assumption::Column::PartId.is_in(parts))
        .order_by_asc(assumption::Column::Driver)
        .all(db)
        .await?)
}

/// Replaces the starting assumptions of a part.
pub async fn replace_assumptions(
    db: &impl ConnectionTrait,
    part: i64,
    rows: Vec<assumption::ActiveModel>,
) -> Result<(), Error> {
    assumption::Entity::delete_many()
        .filter(assumption::Column::PartId.eq(part))
        .exec(db)
        .await?;
    if !rows.is_empty() {
        assumption::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}

/// All parts, by code.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<Model>, Error> {
    Ok(Entity::find().order_by_asc(Column::CodeKey).all(db).await?)
}
