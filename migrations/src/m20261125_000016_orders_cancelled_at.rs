//! When an order was cancelled, so that what was on order can be told for any instant. Of an order that
//! was cancelled before this step nobody knows when: it counts as never on order.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// When an order was cancelled.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::alter()
            .table("orders")
            .add_column(int("cancelled_at").null())
            .to_owned();
        manager.alter_table(table).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::alter()
            .table("orders")
            .drop_column("cancelled_at")
            .to_owned();
        manager.alter_table(table).await
    }
}
