//! Answers kept under their idempotency key, so that a repeat gets the same answer.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// Answers kept under their idempotency key, so that a repeat gets the same answer.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("replies")
            .col(uuid("caller"))
            .col(text("key"))
            .col(text("request_hash"))
            .col(int("status"))
            .col(text("body"))
            .col(int("created_at"))
            .primary_key(Index::create().col("caller").col("key"))
            .to_owned();
        manager.create_table(table).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("replies").to_owned())
            .await?;
        Ok(())
    }
}
