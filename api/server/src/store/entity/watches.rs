//! What is watched. One row of `watches`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "watches")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    #[sea_orm(column_type = "Text")]
    pub subject: String,
    pub part_id: Option<i64>,
    pub kit_id: Option<i64>,
    pub job_id: Option<i64>,
    pub course_id: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub filter: Option<String>,
    #[sea_orm(column_type = "Text")]
    pub low_at: String,
    pub week_minutes: Option<i64>,
    pub target: Option<f64>,
    pub review_days: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub channels: String,
    pub is_off: bool,
    #[sea_orm(column_type = "Text", nullable)]
    pub off_because: Option<String>,
    pub version: i64,
    pub torch_id: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
