//! The conditions of the work of a job, which call for cautions.

use sea_orm_migration::prelude::*;

use crate::column::text;

/// The conditions of the work of a job, which call for cautions.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let jobs = Table::alter()
            .table("jobs")
            .add_column(text("conditions").null())
            .to_owned();
        manager.alter_table(jobs).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let jobs = Table::alter()
            .table("jobs")
            .drop_column("conditions")
            .to_owned();
        manager.alter_table(jobs).await
    }
}
