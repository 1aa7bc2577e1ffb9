//! The shop's own bands of current for electrodes.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// The shop's own bands of current for electrodes.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("current_bands")
            .col(uuid("id").primary_key())
            .col(int("diameter_um"))
            .col(text("class"))
            .col(text("setting"))
            .col(int("amps_min"))
            .col(int("amps_max"))
            .col(text("source"))
            .col(int("version"))
            .to_owned();
        manager.create_table(table).await?;
        // The class is never null, since absent values would not be equal to each other.
        let index = Index::create()
            .name("current_bands_once")
            .table("current_bands")
            .col("diameter_um")
            .col("class")
            .col("setting")
            .unique()
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("current_bands").to_owned())
            .await
    }
}
