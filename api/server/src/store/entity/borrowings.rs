//! Parts that one torch lent to another. One row of `borrowings`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "borrowings")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub part_id: i64,
    pub from_torch_id: i64,
    pub to_torch_id: i64,
    pub borrowed_at: i64,
    pub ended_at: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub ended_as: Option<String>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
