//! The weld lists of jobs. One row of `job_welds`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "job_welds")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub job_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub position: i64,
    #[sea_orm(column_type = "Text")]
    pub joint: String,
    pub leg_um: Option<i64>,
    pub thickness_um: Option<i64>,
    pub gap_um: Option<i64>,
    pub root_face_um: Option<i64>,
    pub angle_degrees: Option<i64>,
    pub area_um2: Option<i64>,
    pub length_mm: i64,
    pub passes: Option<i64>,
    pub speed_mm_per_minute: i64,
    #[sea_orm(column_type = "Text")]
    pub material: String,
    pub filler_id: Option<i64>,
    pub starts: Option<i64>,
    pub over_weld_percent: Option<i64>,
    pub efficiency_percent: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
