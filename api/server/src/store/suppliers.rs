//! Queries on suppliers.

use super::coded::coded;
use super::entity::supplier_closures as closure;

coded!(suppliers);

/// The closures of those suppliers, in their order.
pub async fn closures(
    db: &impl ConnectionTrait,
    suppliers: impl IntoIterator<Item = i64>,
) -> Result<Vec<closure::Model>, Error> {
    let suppliers: Vec<i64> = suppliers.into_iter().collect();
    Ok(closure::Entity::find()
        .filter(closure::Column::SupplierId.is_in(suppliers))
        .order_by_asc(closure::Column::Position)
        .all(db)
        .await?)
}

/// Replaces the closures of a supplier.
pub async fn replace_closures(
    db: &impl ConnectionTrait,
    supplier: i64,
    rows: Vec<closure::ActiveModel>,
) -> Result<(), Error> {
    closure::Entity::delete_many()
        .filter(closure::Column::SupplierId.eq(supplier))
        .exec(db)
        .await?;
    if !rows.is_empty() {
        closure::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
