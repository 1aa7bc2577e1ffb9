//! Alternatives in the slots of kits. One row of `kit_alternatives`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "kit_alternatives")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub kit_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub alternative_id: i64,
    pub position: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
