//! Keys, kept as hashes.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// Keys, kept as hashes.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("keys")
            .col(uuid("id").primary_key())
            .col(text("name"))
            .col(text("role"))
            .col(text("hash").unique_key())
            .col(text("prefix"))
            .col(int("created_at"))
            .col(int("revoked_at").null())
            .to_owned();
        manager.create_table(table).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("keys").to_owned())
            .await?;
        Ok(())
    }
}
