//! Parts that a course leaves out of its chance. One row of `course_left_out`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "course_left_out")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub course_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
