//! Withdrawals of signed equivalences, at most one each. One row of `equivalence_withdrawals`, as
//! primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "equivalence_withdrawals")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(unique)]
    pub equivalence_id: i64,
    #[sea_orm(column_type = "Text")]
    pub withdrawn_by: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub why: Option<String>,
    pub withdrawn_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
