//! Offers. One row of `offers`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "offers")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub supplier_id: i64,
    pub part_id: i64,
    pub pack_size: i64,
    pub price_minor: i64,
    pub version: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub none_until: Option<String>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
