//! What wear is learned from, by the current that was told. One row of `wear_currents`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "wear_currents")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub site_id: i64,
    #[sea_orm(primary_key, auto_increment = false, column_type = "Text")]
    pub operator_group: String,
    /// Empty if it was not told.
    #[sea_orm(primary_key, auto_increment = false, column_type = "Text")]
    pub polarity: String,
    /// 0 if it was not told.
    #[sea_orm(primary_key, auto_increment = false)]
    pub amps: i64,
    pub events: i64,
    pub arc_seconds: i64,
    pub grinds: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
