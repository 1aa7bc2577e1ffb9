//! Equivalences that were signed; none is ever changed. One row of `equivalences`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "equivalences")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    pub revision_id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text")]
    pub code_key: String,
    #[sea_orm(column_type = "Text")]
    pub marking: String,
    #[sea_orm(column_type = "Text")]
    pub class: String,
    pub diameter_um: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub grade: Option<String>,
    #[sea_orm(column_type = "Text")]
    pub signed_by: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub asked_by: Option<String>,
    pub signed_at: i64,
    pub offset_minutes: i64,
    pub recorded_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
