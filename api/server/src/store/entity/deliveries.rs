//! One event on its way to one receiver. One row of `deliveries`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "deliveries")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub event_sequence: i64,
    #[sea_orm(column_type = "Text")]
    pub channel: String,
    pub target: Uuid,
    #[sea_orm(column_type = "Text")]
    pub subject: String,
    #[sea_orm(column_type = "Text")]
    pub state: String,
    pub attempts: i64,
    pub first_at: Option<i64>,
    pub next_at: i64,
    pub claimed_until: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub last_answer: Option<String>,
    pub ended_at: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
