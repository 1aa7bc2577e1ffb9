//! The conditions of offers: price breaks, and until when a supplier has none.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// The conditions of offers: price breaks, and until when a supplier has none.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let offers = Table::alter()
            .table("offers")
            .add_column(text("none_until").null())
            .to_owned();
        manager.alter_table(offers).await?;
        let breaks = Table::create()
            .table("offer_breaks")
            .col(uuid("offer_id"))
            .col(int("packs_min"))
            .col(int("price_minor"))
            .primary_key(Index::create().col("offer_id").col("packs_min"))
            .foreign_key(
                ForeignKey::create()
                    .from("offer_breaks", "offer_id")
                    .to("offers", "id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .to_owned();
        manager.create_table(breaks).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let breaks = Table::drop().table("offer_breaks").to_owned();
        manager.drop_table(breaks).await?;
        let offers = Table::alter()
            .table("offers")
            .drop_column("none_until")
            .to_owned();
        manager.alter_table(offers).await
    }
}
