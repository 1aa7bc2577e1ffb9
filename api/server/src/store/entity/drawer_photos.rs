//! Photos of the labels of drawers. One row of `drawer_photos`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "drawer_photos")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub drawer_id: i64,
    #[sea_orm(column_type = "Text")]
    pub media_type: String,
    pub bytes: i64,
    #[sea_orm(column_type = "Text")]
    pub digest: String,
    #[sea_orm(column_type = "Blob")]
    pub content: Vec<u8>,
    pub added_at: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
