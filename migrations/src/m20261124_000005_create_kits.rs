//! Kits, as lists of parts.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Kits, as lists of parts.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("kits")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("name"))
            .col(int("version"))
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("kit_lines")
            .col(int("kit_id"))
            .col(int("part_id"))
            .col(int("quantity"))
            .col(int("position"))
            .primary_key(Index::create().col("kit_id").col("part_id"))
            .foreign_key(
                ForeignKey::create()
                    .from("kit_lines", "kit_id")
                    .to("kits", "id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("kit_lines", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("kit_lines_part")
            .table("kit_lines")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("kit_lines").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("kits").to_owned())
            .await?;
        Ok(())
    }
}
