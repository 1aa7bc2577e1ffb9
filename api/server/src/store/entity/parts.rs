//! Parts. One row of `parts`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "parts")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub code: String,
    #[sea_orm(column_type = "Text", unique)]
    pub code_key: String,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub class: Option<String>,
    pub diameter_um: Option<i64>,
    pub length_um: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub length: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub family: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub arrangement: Option<String>,
    pub cup_number: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub seat: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub composition: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub marking: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub created_at: i64,
    pub version: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub grade: Option<String>,
    pub renew_months: Option<i64>,
    pub renew_removals: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
