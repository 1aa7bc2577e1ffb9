//! Suppliers and their offers.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text, uuid};

/// Suppliers and their offers.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("suppliers")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("name"))
            .col(text("currency"))
            .col(int("freight_minor"))
            .col(int("lead_time_days"))
            .col(int("cut_off_minute"))
            .col(text("note").null())
            .col(int("version"))
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("offers")
            .col(uuid("id").primary_key())
            .col(int("supplier_id"))
            .col(int("part_id"))
            .col(int("pack_size"))
            .col(int("price_minor"))
            .col(int("version"))
            .foreign_key(
                ForeignKey::create()
                    .from("offers", "supplier_id")
                    .to("suppliers", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("offers", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("offers_once")
            .table("offers")
            .col("supplier_id")
            .col("part_id")
            .col("pack_size")
            .unique()
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("offers_part")
            .table("offers")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("offers").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("suppliers").to_owned())
            .await?;
        Ok(())
    }
}
