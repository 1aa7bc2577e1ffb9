//! What wear is learned from, day by day. One row of `wear_days`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "wear_days")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub site_id: i64,
    #[sea_orm(primary_key, auto_increment = false, column_type = "Text")]
    pub operator_group: String,
    #[sea_orm(primary_key, auto_increment = false)]
    pub day: i64,
    pub events: i64,
    pub events_counted: i64,
    pub arc_seconds: i64,
    pub arc_counter_seconds: i64,
    pub arc_cylinder_seconds: i64,
    pub grinds: i64,
    pub cut_backs: i64,
    pub starts: i64,
    pub student_days: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
