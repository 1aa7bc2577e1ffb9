//! Suppliers. One row of `suppliers`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "suppliers")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text", unique)]
    pub code_key: String,
    #[sea_orm(column_type = "Text")]
    pub name: String,
    #[sea_orm(column_type = "Text")]
    pub currency: String,
    pub freight_minor: i64,
    pub lead_time_days: i64,
    pub cut_off_minute: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub version: i64,
    #[sea_orm(default_value = 0)]
    pub minimum_minor: i64,
    pub free_over_minor: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
