//! What wear is learned from. One row of `wear`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "wear")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub site_id: i64,
    #[sea_orm(primary_key, auto_increment = false, column_type = "Text")]
    pub operator_group: String,
    pub events: i64,
    pub arc_seconds: i64,
    pub grinds: i64,
    pub cut_backs: i64,
    pub starts: i64,
    pub first_at: Option<i64>,
    pub events_counted: i64,
    pub arc_counter_seconds: i64,
    pub arc_cylinder_seconds: i64,
    pub student_days: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
