//! The parts in drawers. One row of `drawer_parts`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "drawer_parts")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub drawer_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    pub position: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}

impl Related<super::drawers::Entity> for Entity {
    fn to() -> RelationDef {
        Self::belongs_to(super::drawers::Entity)
            .from(Column::DrawerId)
            .to(super::drawers::Column::Id)
            .into()
    }
}
