//! Changes of terms. One row of `term_changes`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "term_changes")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub at: i64,
    pub supplier_id: i64,
    pub part_id: Option<i64>,
    pub pack_size: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub term: String,
    pub was: i64,
    pub became: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub currency: Option<String>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
