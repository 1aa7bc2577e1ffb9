//! The conditions of suppliers: the least value of an order, the value from which freight is saved, and
//! the days on which they are shut.

use sea_orm_migration::prelude::*;

use crate::column::{int, text};

/// The conditions of suppliers: the least value of an order, the value from which freight is saved, and
/// the days on which they are shut.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let suppliers = Table::alter()
            .table("suppliers")
            .add_column(int("minimum_minor").default(0))
            .to_owned();
        manager.alter_table(suppliers).await?;
        let suppliers = Table::alter()
            .table("suppliers")
            .add_column(int("free_over_minor").null())
            .to_owned();
        manager.alter_table(suppliers).await?;
        let closures = Table::create()
            .table("supplier_closures")
            .col(int("supplier_id"))
            .col(int("position"))
            .col(text("first"))
            .col(text("last"))
            .col(text("note").null())
            .primary_key(Index::create().col("supplier_id").col("position"))
            .foreign_key(
                ForeignKey::create()
                    .from("supplier_closures", "supplier_id")
                    .to("suppliers", "id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .to_owned();
        manager.create_table(closures).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let closures = Table::drop().table("supplier_closures").to_owned();
        manager.drop_table(closures).await?;
        for column in ["free_over_minor", "minimum_minor"] {
            let suppliers = Table::alter()
                .table("suppliers")
                .drop_column(column)
                .to_owned();
            manager.alter_table(suppliers).await?;
        }
        Ok(())
    }
}
