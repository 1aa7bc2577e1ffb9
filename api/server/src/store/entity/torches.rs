//! Torches. One row of `torches`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "torches")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text", unique)]
    pub code_key: String,
    #[sea_orm(column_type = "Text")]
    pub name: String,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub family: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub version: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}

impl Related<super::sites::Entity> for Entity {
    fn to() -> RelationDef {
        Self::belongs_to(super::sites::Entity)
            .from(Column::SiteId)
            .to(super::sites::Column::Id)
            .into()
    }
}
