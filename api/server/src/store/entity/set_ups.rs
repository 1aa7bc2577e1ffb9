//! Set-ups, never changed. One row of `set_ups`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "set_ups")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub torch_id: i64,
    pub fitted_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
