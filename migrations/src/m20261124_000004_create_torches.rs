//! Torches, and every set-up that was ever fitted: a set-up is never changed, the newest
//! is what is fitted now.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Torches, and every set-up that was ever fitted: a set-up is never changed, the newest
/// is what is fitted now.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("torches")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("name"))
            .col(int("site_id"))
            .col(text("family"))
            .col(text("note").null())
            .col(int("version"))
            .foreign_key(
                ForeignKey::create()
                    .from("torches", "site_id")
                    .to("sites", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("set_ups")
            .col(id())
            .col(int("torch_id"))
            .col(int("fitted_at"))
            .foreign_key(
                ForeignKey::create()
                    .from("set_ups", "torch_id")
                    .to("torches", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("set_ups_torch")
            .table("set_ups")
            .col("torch_id")
            .to_owned();
        manager.create_index(index).await?;
        let table = Table::create()
            .table("set_up_parts")
            .col(int("set_up_id"))
            .col(int("part_id"))
            .col(int("position"))
            .primary_key(Index::create().col("set_up_id").col("part_id"))
            .foreign_key(
                ForeignKey::create()
                    .from("set_up_parts", "set_up_id")
                    .to("set_ups", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("set_up_parts", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("set_up_parts_part")
            .table("set_up_parts")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("set_up_parts").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("set_ups").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("torches").to_owned())
            .await?;
        Ok(())
    }
}
