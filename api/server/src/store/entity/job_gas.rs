//! The shielding gas of jobs. One row of `job_gas`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "job_gas")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub job_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    pub flow_ml_per_minute: i64,
    pub pre_flow_ms: Option<i64>,
    pub post_flow_ms: Option<i64>,
    pub purge_ml: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
