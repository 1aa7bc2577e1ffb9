//! Price breaks of offers. One row of `offer_breaks`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "offer_breaks")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub offer_id: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub packs_min: i64,
    pub price_minor: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
