//! What the ledger asks a person, and what a device said of its own clock.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text, uuid};

/// What the ledger asks a person, and what a device said of its own clock.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_questions(manager).await?;
        let table = Table::alter()
            .table("entries")
            .add_column(int("clock_ahead_seconds").null())
            .to_owned();
        manager.alter_table(table).await?;
        // Double entries are looked for among what a torch did shortly before and after.
        let index = Index::create()
            .name("entries_torch_happened")
            .table("entries")
            .col("torch_id")
            .col("happened_at")
            .to_owned();
        manager.create_index(index).await?;
        manager
            .drop_index(
                Index::drop()
                    .name("entries_torch")
                    .table("entries")
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let index = Index::create()
            .name("entries_torch")
            .table("entries")
            .col("torch_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::drop()
            .name("entries_torch_happened")
            .table("entries")
            .to_owned();
        manager.drop_index(index).await?;
        let table = Table::alter()
            .table("entries")
            .drop_column("clock_ahead_seconds")
            .to_owned();
        manager.alter_table(table).await?;
        manager
            .drop_table(Table::drop().table("questions").to_owned())
            .await
    }
}

async fn create_questions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("questions")
        .col(id())
        .col(text("kind"))
        .col(text("state"))
        // What it is about, while it is open: two open questions are never about the same.
        .col(text("subject").null().unique_key())
        .col(int("site_id"))
        .col(int("part_id").null())
        .col(uuid("entry_id").null())
        .col(uuid("other_entry_id").null())
        .col(text("details"))
        .col(text("says"))
        .col(int("asked_at"))
        .col(text("answer").null())
        .col(text("outcome").null())
        .col(text("answered_by").null())
        .col(uuid("key_id").null())
        .col(int("answered_at").null())
        .foreign_key(
            ForeignKey::create()
                .from("questions", "site_id")
                .to("sites", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("questions", "part_id")
                .to("parts", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("questions", "entry_id")
                .to("entries", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("questions", "other_entry_id")
                .to("entries", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    for (name, column) in [
        ("questions_part", "part_id"),
        ("questions_entry", "entry_id"),
        ("questions_other_entry", "other_entry_id"),
        ("questions_site", "site_id"),
    ] {
        let index = Index::create()
            .name(name)
            .table("questions")
            .col(column)
            .col("state")
            .to_owned();
        manager.create_index(index).await?;
    }
    Ok(())
}
