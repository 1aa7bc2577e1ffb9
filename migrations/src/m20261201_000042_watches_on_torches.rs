//! Watches on the wear of a torch: where its weekly check is told, or that nothing is to be heard of it.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// Watches on the wear of a torch.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::alter()
            .table("watches")
            .add_column(int("torch_id").null())
            .to_owned();
        manager.alter_table(table).await?;
        let index = Index::create()
            .name("watches_torch")
            .table("watches")
            .col("torch_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let index = Index::drop()
            .name("watches_torch")
            .table("watches")
            .to_owned();
        manager.drop_index(index).await?;
        let table = Table::alter()
            .table("watches")
            .drop_column("torch_id")
            .to_owned();
        manager.alter_table(table).await
    }
}
