//! Sites, with the one that is there from the start.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Sites, with the one that is there from the start.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("sites")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("name"))
            .col(text("zone"))
            .col(int("version"))
            .to_owned();
        manager.create_table(table).await?;
        let first = Query::insert()
            .into_table("sites")
            .columns(["code", "code_key", "name", "zone", "version"])
            .values_panic([
                "shop".into(),
                "shop".into(),
                "Shop".into(),
                "Etc/UTC".into(),
                1.into(),
            ])
            .to_owned();
        manager.execute(first).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("sites").to_owned())
            .await?;
        Ok(())
    }
}
