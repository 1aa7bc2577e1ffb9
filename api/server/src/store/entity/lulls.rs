//! Days on which a site does less work than usual, or more. One row of `lulls`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "lulls")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub first: String,
    #[sea_orm(column_type = "Text")]
    pub last: String,
    pub share: f64,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub version: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
