//! Entries of the ledger. One row of `entries`, as primitives.

use sea_orm::entity::prelude::*;

#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "entries")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(column_type = "Text")]
    pub kind: String,
    pub site_id: i64,
    #[sea_orm(column_type = "Text")]
    pub operator_group: String,
    pub torch_id: Option<i64>,
    pub set_up_id: Option<i64>,
    pub job_id: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub lot: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub what: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub why: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub polarity: Option<String>,
    pub amps: Option<i64>,
    pub arc_seconds: i64,
    pub grinds: i64,
    pub cut_backs: i64,
    pub starts: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub person: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub note: Option<String>,
    pub key_id: Option<Uuid>,
    #[sea_orm(unique)]
    pub reverses: Option<Uuid>,
    pub history: bool,
    pub happened_at: i64,
    pub offset_minutes: i64,
    pub device_at: Option<i64>,
    pub received_at: i64,
    pub exposed_part_id: Option<i64>,
    pub clock_ahead_seconds: Option<i64>,
    pub day: i64,
    #[sea_orm(column_type = "Text", nullable)]
    pub arc_from: Option<String>,
    pub student_days: i64,
    pub arc_timer_minutes: Option<i64>,
    pub course_id: Option<i64>,
}

#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
