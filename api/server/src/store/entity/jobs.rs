//! Jobs. One row of `jobs`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "jobs")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text", unique)]
    pub code_key: String,
    #[sea_orm(column_type = "Text")]
    pub name: String,
    pub site_id: i64,
    pub torch_id: Option<i64>,
    pub kit_id: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub operator_group: String,
    pub arc_seconds: Option<i64>,
    pub grinds: Option<i64>,
    pub weeks: Option<f64>,
    #[sea_orm(column_type = "Text")]
    pub start: String,
    pub target: f64,
    pub version: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub procedure: Option<String>,
    #[sea_orm(default_value = false)]
    pub locked: bool,
    #[sea_orm(column_type = "Text", nullable)]
    pub conditions: Option<String>,
    pub procedure_revision_id: Option<i64>,
    pub start_minute: Option<i64>,
    pub arc_seconds_per_day: Option<i64>,
    #[sea_orm(default_value = 0.0)]
    pub spread: f64,
    pub closed_at: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
