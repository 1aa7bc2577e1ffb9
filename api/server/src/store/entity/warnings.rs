//! Warnings: an episode of what is watched, from opening to closing. One row of `warnings`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "warnings")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    #[sea_orm(column_type = "Text")]
    pub subject: String,
    #[sea_orm(unique, column_type = "Text", nullable)]
    pub open_subject: Option<String>,
    pub part_id: Option<i64>,
    pub job_id: Option<i64>,
    pub course_id: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub channels: String,
    pub opened_at: i64,
    pub told_at: Option<i64>,
    pub told_chance: Option<f64>,
    pub escalated_at: Option<i64>,
    pub quiet_until: Option<i64>,
    pub quiet_on_hand: Option<i64>,
    pub held_back_at: Option<i64>,
    pub digested_at: Option<i64>,
    pub acknowledged_at: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub acknowledged_by: Option<String>,
    pub closed_at: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub says: String,
    #[sea_orm(column_type = "Text")]
    pub details: String,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
