//! The stub jar, row by row. One row of `stubs`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "stubs")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub entry_id: Uuid,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub class: String,
    pub diameter_um: i64,
    pub length_um: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub lot: Option<String>,
    pub quantity: i64,
    pub happened_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
