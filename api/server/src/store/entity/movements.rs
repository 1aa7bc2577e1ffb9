//! Movements of the ledger. One row of `movements`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "movements")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub entry_id: Uuid,
    pub part_id: i64,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    pub quantity: i64,
    pub order_id: Option<i64>,
    pub happened_at: i64,
    #[sea_orm(column_type = "Text", nullable, indexed)]
    pub lot_key: Option<String>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
