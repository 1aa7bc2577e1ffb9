//! What was told in warnings. One row of `warning_messages`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "warning_messages")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub warning_id: Uuid,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    pub at: i64,
    #[sea_orm(column_type = "Text")]
    pub says: String,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
