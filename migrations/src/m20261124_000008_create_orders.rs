//! Orders and their lines.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Orders and their lines.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_orders(manager).await?;
        create_order_lines(manager).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("order_lines").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("orders").to_owned())
            .await?;
        Ok(())
    }
}

async fn create_orders(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("orders")
        .col(id())
        .col(int("supplier_id"))
        .col(int("site_id"))
        .col(int("job_id").null())
        .col(text("state"))
        .col(int("freight_minor"))
        .col(text("currency"))
        .col(int("created_at"))
        .col(int("placed_at").null())
        .foreign_key(
            ForeignKey::create()
                .from("orders", "supplier_id")
                .to("suppliers", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("orders", "site_id")
                .to("sites", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("orders", "job_id")
                .to("jobs", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("orders_supplier")
        .table("orders")
        .col("supplier_id")
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("orders_job")
        .table("orders")
        .col("job_id")
        .to_owned();
    manager.create_index(index).await?;
    Ok(())
}

async fn create_order_lines(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("order_lines")
        .col(id())
        .col(int("order_id"))
        .col(int("part_id"))
        .col(int("pack_size"))
        .col(int("packs"))
        .col(int("received"))
        .col(int("price_minor"))
        .foreign_key(
            ForeignKey::create()
                .from("order_lines", "order_id")
                .to("orders", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("order_lines", "part_id")
                .to("parts", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("order_lines_once")
        .table("order_lines")
        .col("order_id")
        .col("part_id")
        .col("pack_size")
        .unique()
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("order_lines_part")
        .table("order_lines")
        .col("part_id")
        .to_owned();
    manager.create_index(index).await?;
    Ok(())
}
