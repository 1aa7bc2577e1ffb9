//! Changes of terms: what the price of an offer or the lead time that a supplier states was, and became.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// Changes of the terms of suppliers.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // Of what is gone since nothing is told, so neither column holds a supplier or a part back.
        let table = Table::create()
            .table("term_changes")
            .col(uuid("id").primary_key())
            .col(int("at"))
            .col(int("supplier_id"))
            .col(int("part_id").null())
            .col(int("pack_size").null())
            .col(text("term"))
            .col(int("was"))
            .col(int("became"))
            .col(text("currency").null())
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("term_changes_at")
            .table("term_changes")
            .col("at")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("term_changes").to_owned())
            .await
    }
}
