//! The parts of set-ups. One row of `set_up_parts`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "set_up_parts")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub set_up_id: i64,
    #[sea_orm(primary_key, auto_increment = false)]
    pub part_id: i64,
    pub position: i64,
    pub renewed: bool,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}

impl Related<super::parts::Entity> for Entity {
    fn to() -> RelationDef {
        Self::belongs_to(super::parts::Entity)
            .from(Column::PartId)
            .to(super::parts::Column::Id)
            .into()
    }
}
