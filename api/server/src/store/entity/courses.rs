//! Courses. One row of `courses`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "courses")]
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
    pub kit_id: i64,
    #[sea_orm(column_type = "Text")]
    pub operator_group: String,
    #[sea_orm(column_type = "Text")]
    pub starts: String,
    #[sea_orm(column_type = "Text")]
    pub ends: String,
    pub heads: i64,
    pub days: i64,
    pub stations: i64,
    pub target: f64,
    pub clumsiness: f64,
    pub grinds_per_student_day: Option<f64>,
    pub minutes_between_visits: Option<i64>,
    pub minutes_a_day: Option<i64>,
    pub version: i64,
    pub closed_at: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
