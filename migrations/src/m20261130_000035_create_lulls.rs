//! Lulls: days on which a site does less work than usual, or more.

use sea_orm_migration::prelude::*;

use crate::column::{int, real, text, uuid};

/// Lulls: days on which a site does less work than usual, or more.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("lulls")
            .col(uuid("id").primary_key())
            .col(int("site_id"))
            .col(text("first"))
            .col(text("last"))
            .col(real("share"))
            .col(text("note").null())
            .col(int("version"))
            .foreign_key(
                ForeignKey::create()
                    .from("lulls", "site_id")
                    .to("sites", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        // No two lulls of a site have a day in common, so no two begin on one. It is also the index of
        // the site, and the order in which its lulls are listed.
        let index = Index::create()
            .name("lulls_once")
            .table("lulls")
            .col("site_id")
            .col("first")
            .unique()
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("lulls").to_owned())
            .await
    }
}
