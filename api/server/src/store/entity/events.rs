//! What was told. One row of `events`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "events")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub sequence: i64,
    #[sea_orm(unique)]
    pub id: Uuid,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    #[sea_orm(column_type = "Text")]
    pub subject: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub site: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub part: Option<String>,
    pub warning_id: Option<Uuid>,
    pub at: i64,
    #[sea_orm(column_type = "Text")]
    pub says: String,
    #[sea_orm(column_type = "Text")]
    pub data: String,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
