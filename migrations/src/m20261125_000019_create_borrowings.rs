//! Parts that one torch lent to another, until they are put back.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Parts that one torch lent to another.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("borrowings")
            .col(id())
            .col(int("part_id"))
            .col(int("from_torch_id"))
            .col(int("to_torch_id"))
            .col(int("borrowed_at"))
            .col(int("ended_at").null())
            .col(text("ended_as").null())
            .foreign_key(
                ForeignKey::create()
                    .from("borrowings", "part_id")
                    .to("parts", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("borrowings", "from_torch_id")
                    .to("torches", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("borrowings", "to_torch_id")
                    .to("torches", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("borrowings_part")
            .table("borrowings")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("borrowings_to_torch")
            .table("borrowings")
            .col("to_torch_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("borrowings_from_torch")
            .table("borrowings")
            .col("from_torch_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("borrowings").to_owned())
            .await
    }
}
