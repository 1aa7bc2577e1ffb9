//! Keys that end: when a key expires, and the secret from before its last rotation, which works for a while yet.

use sea_orm_migration::prelude::*;

use crate::column::{int, text};

/// Keys that end.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let columns = [
            int("expires_at").null().take(),
            text("old_hash").null().take(),
            int("old_works_until").null().take(),
        ];
        for column in columns {
            let table = Table::alter().table("keys").add_column(column).to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for name in ["old_works_until", "old_hash", "expires_at"] {
            let table = Table::alter().table("keys").drop_column(name).to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }
}
