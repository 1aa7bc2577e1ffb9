//! Orders. One row of `orders`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "orders")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub supplier_id: i64,
    pub site_id: i64,
    pub job_id: Option<i64>,
    #[sea_orm(column_type = "Text")]
    pub state: String,
    pub freight_minor: i64,
    #[sea_orm(column_type = "Text")]
    pub currency: String,
    pub created_at: i64,
    pub placed_at: Option<i64>,
    pub cancelled_at: Option<i64>,
    pub course_id: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
