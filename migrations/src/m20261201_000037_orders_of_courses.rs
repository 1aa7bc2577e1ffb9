//! The course that an order is for, as orders have the job.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// The course that an order is for.
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
            .add_column(int("course_id").null())
            .to_owned();
        manager.alter_table(table).await?;
        let index = Index::create()
            .name("orders_course")
            .table("orders")
            .col("course_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let index = Index::drop()
            .name("orders_course")
            .table("orders")
            .to_owned();
        manager.drop_index(index).await?;
        let table = Table::alter()
            .table("orders")
            .drop_column("course_id")
            .to_owned();
        manager.alter_table(table).await
    }
}
