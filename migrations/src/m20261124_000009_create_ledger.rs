//! The ledger: entries, the movements and counts that belong to them. Rows are only ever added.

use sea_orm_migration::prelude::*;

use crate::column::{bool, int, text, uuid};

/// The ledger: entries, the movements and counts that belong to them. Rows are only ever added.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_entries(manager).await?;
        create_movements(manager).await?;
        create_counts(manager).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("counts").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("movements").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("entries").to_owned())
            .await?;
        Ok(())
    }
}

async fn create_entries(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("entries")
        .col(uuid("id").primary_key())
        .col(text("kind"))
        .col(int("site_id"))
        .col(text("operator_group"))
        .col(int("torch_id").null())
        .col(int("set_up_id").null())
        .col(int("job_id").null())
        .col(text("lot").null())
        .col(text("what").null())
        .col(text("why").null())
        .col(text("polarity").null())
        .col(int("amps").null())
        .col(int("arc_seconds"))
        .col(int("grinds"))
        .col(int("cut_backs"))
        .col(int("starts"))
        .col(text("person").null())
        .col(text("note").null())
        .col(uuid("key_id").null())
        .col(uuid("reverses").null())
        .col(bool("history"))
        .col(int("happened_at"))
        .col(int("offset_minutes"))
        .col(int("device_at").null())
        .col(int("received_at"))
        .foreign_key(
            ForeignKey::create()
                .from("entries", "site_id")
                .to("sites", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("entries", "torch_id")
                .to("torches", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("entries", "set_up_id")
                .to("set_ups", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("entries", "job_id")
                .to("jobs", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("entries", "reverses")
                .to("entries", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    index_entries(manager).await
}

async fn index_entries(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let index = Index::create()
        .name("entries_reverses")
        .table("entries")
        .col("reverses")
        .unique()
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("entries_torch")
        .table("entries")
        .col("torch_id")
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("entries_set_up")
        .table("entries")
        .col("set_up_id")
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("entries_job")
        .table("entries")
        .col("job_id")
        .to_owned();
    manager.create_index(index).await?;
    Ok(())
}

async fn create_movements(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("movements")
        .col(uuid("id").primary_key())
        .col(uuid("entry_id"))
        .col(int("part_id"))
        .col(int("site_id"))
        .col(text("kind"))
        .col(int("quantity"))
        .col(int("order_id").null())
        .col(int("happened_at"))
        .foreign_key(
            ForeignKey::create()
                .from("movements", "entry_id")
                .to("entries", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("movements", "part_id")
                .to("parts", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("movements", "site_id")
                .to("sites", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("movements", "order_id")
                .to("orders", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("movements_part")
        .table("movements")
        .col("part_id")
        .col("site_id")
        .col("happened_at")
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("movements_entry")
        .table("movements")
        .col("entry_id")
        .to_owned();
    manager.create_index(index).await?;
    let index = Index::create()
        .name("movements_order")
        .table("movements")
        .col("order_id")
        .to_owned();
    manager.create_index(index).await?;
    Ok(())
}

async fn create_counts(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("counts")
        .col(uuid("entry_id").primary_key())
        .col(int("part_id"))
        .col(int("site_id"))
        .col(int("counted"))
        .col(int("book"))
        .col(int("happened_at"))
        .foreign_key(
            ForeignKey::create()
                .from("counts", "entry_id")
                .to("entries", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("counts", "part_id")
                .to("parts", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("counts", "site_id")
                .to("sites", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("counts_part")
        .table("counts")
        .col("part_id")
        .col("site_id")
        .col("happened_at")
        .to_owned();
    manager.create_index(index).await?;
    Ok(())
}
