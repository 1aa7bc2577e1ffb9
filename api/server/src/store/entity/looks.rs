//! When a site was last looked at. One row of `looks`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "looks")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub site_id: i64,
    pub looked_at: i64,
    pub received_by: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
