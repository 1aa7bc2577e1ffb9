//! Which parts of a set-up were new, so that a new O-ring is told from the old one though it is the same part.
//! Of set-ups from before this step it is only known which parts were others than before.

use sea_orm_migration::prelude::*;

use crate::column::bool;

/// Which parts of a set-up were new.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::alter()
            .table("set_up_parts")
            .add_column(bool("renewed").default(false))
            .to_owned();
        manager.alter_table(table).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::alter()
            .table("set_up_parts")
            .drop_column("renewed")
            .to_owned();
        manager.alter_table(table).await
    }
}
