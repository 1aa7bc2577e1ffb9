//! What the ledger asks a person: a row a question. Unlike the ledger itself, a row changes once, when
//! it is answered or closes by itself.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "questions")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub id: i64,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    #[sea_orm(column_type = "Text")]
    pub state: String,
    #[sea_orm(column_type = "Text", nullable, unique)]
    pub subject: Option<String>,
    pub site_id: i64,
    pub part_id: Option<i64>,
    pub entry_id: Option<Uuid>,
    pub other_entry_id: Option<Uuid>,
    #[sea_orm(column_type = "Text")]
    pub details: String,
    #[sea_orm(column_type = "Text")]
    pub says: String,
    pub asked_at: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub answer: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub outcome: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub answered_by: Option<String>,
    pub key_id: Option<Uuid>,
    pub answered_at: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
