//! Who gets mail. One row of `mail_addresses`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "mail_addresses")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique, column_type = "Text")]
    pub address: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    #[sea_orm(column_type = "Text")]
    pub kinds: String,
    #[sea_orm(column_type = "Text", nullable)]
    pub site: Option<String>,
    pub failing_since: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub last_answer: Option<String>,
    pub last_answer_at: Option<i64>,
    pub created_at: i64,
    pub version: i64,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
