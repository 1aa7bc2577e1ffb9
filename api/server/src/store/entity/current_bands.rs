//! The shop's own bands of current. One row of `current_bands`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "current_bands")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub diameter_um: i64,
    #[sea_orm(column_type = "Text")]
    pub class: String,
    #[sea_orm(column_type = "Text")]
    pub setting: String,
    pub amps_min: i64,
    pub amps_max: i64,
    #[sea_orm(column_type = "Text")]
    pub source: String,
    pub version: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
