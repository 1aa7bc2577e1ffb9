//! Seats of parts. One row of `seats`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "seats")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text", unique)]
    pub code_key: String,
    #[sea_orm(column_type = "Text", unique)]
    pub subject_key: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub kind: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub family: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub pattern: Option<String>,
    pub part_id: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub takes: Option<String>,
    #[sea_orm(column_type = "Text")]
    pub offers: String,
    pub longest_rod_um: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub source: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub checked: bool,
    pub version: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
