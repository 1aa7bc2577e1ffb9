//! Revisions of written procedures; none is ever changed. One row of `procedure_revisions`, as
//! primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "procedure_revisions")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub procedure_id: i64,
    pub revision: i64,
    #[sea_orm(column_type = "Text")]
    pub requires: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub responsible: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub why: Option<String>,
    pub made_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
