//! Sites. One row of `sites`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "sites")]
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
    pub zone: String,
    pub version: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub barred: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub responsible: Option<String>,
    pub discard_um: Option<i64>,
    pub quiet_from_minute: Option<i64>,
    pub quiet_to_minute: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub quiet_weekdays: Option<String>,
    pub weekly_limit: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub digest_weekday: Option<String>,
    pub digest_minute: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
