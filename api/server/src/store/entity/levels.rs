//! Levels of stock. One row of `levels`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "levels")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub site_id: i64,
    pub on_hand: i64,
    pub on_hold: i64,
    pub on_order: i64,
    pub counted_at: Option<i64>,
    pub count_id: Option<Uuid>,
    #[sea_orm(default_value = 0)]
    pub allocated: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
