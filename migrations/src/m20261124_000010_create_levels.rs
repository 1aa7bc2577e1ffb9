//! What follows from the ledger, kept up to date with each entry: levels of stock, and what wear is
//! learned from. Both can be rebuilt.

use sea_orm_migration::prelude::*;

use crate::column::{int, text, uuid};

/// What follows from the ledger, kept up to date with each entry: levels of stock, and what wear is
/// learned from. Both can be rebuilt.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("levels")
            .col(int("part_id"))
            .col(int("site_id"))
            .col(int("on_hand"))
            .col(int("on_hold"))
            .col(int("on_order"))
            .col(int("counted_at").null())
            .col(uuid("count_id").null())
            .primary_key(Index::create().col("part_id").col("site_id"))
            .foreign_key(
                ForeignKey::create()
                    .from("levels", "part_id")
                    .to("parts", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("levels", "site_id")
                    .to("sites", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("wear")
            .col(int("part_id"))
            .col(int("site_id"))
            .col(text("operator_group"))
            .col(int("events"))
            .col(int("arc_seconds"))
            .col(int("grinds"))
            .col(int("cut_backs"))
            .col(int("starts"))
            .col(int("first_at").null())
            .primary_key(
                Index::create()
                    .col("part_id")
                    .col("site_id")
                    .col("operator_group"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("wear", "part_id")
                    .to("parts", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("wear", "site_id")
                    .to("sites", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("wear").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("levels").to_owned())
            .await?;
        Ok(())
    }
}
