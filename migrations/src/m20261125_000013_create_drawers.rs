//! Drawers: numbered places of a site, the parts in them, and photos of their labels.

use sea_orm_migration::prelude::*;

use crate::column::{blob, id, int, text, uuid};

/// Drawers: numbered places of a site, the parts in them, and photos of their labels.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_drawers(manager).await?;
        create_drawer_parts(manager).await?;
        create_drawer_photos(manager).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["drawer_photos", "drawer_parts", "drawers"] {
            manager
                .drop_table(Table::drop().table(table).to_owned())
                .await?;
        }
        Ok(())
    }
}

async fn create_drawers(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `sort_key` is the code in lower case, written so that 2 comes before 10; one code has one.
    let table = Table::create()
        .table("drawers")
        .col(id())
        .col(int("site_id"))
        .col(text("code"))
        .col(text("sort_key"))
        .col(text("name"))
        .col(int("version"))
        .foreign_key(
            ForeignKey::create()
                .from("drawers", "site_id")
                .to("sites", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("drawers_site")
        .table("drawers")
        .col("site_id")
        .col("sort_key")
        .unique()
        .to_owned();
    manager.create_index(index).await
}

async fn create_drawer_parts(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("drawer_parts")
        .col(int("drawer_id"))
        .col(int("part_id"))
        .col(int("position"))
        .primary_key(Index::create().col("drawer_id").col("part_id"))
        .foreign_key(
            ForeignKey::create()
                .from("drawer_parts", "drawer_id")
                .to("drawers", "id")
                .on_delete(ForeignKeyAction::Cascade),
        )
        .foreign_key(
            ForeignKey::create()
                .from("drawer_parts", "part_id")
                .to("parts", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("drawer_parts_part")
        .table("drawer_parts")
        .col("part_id")
        .to_owned();
    manager.create_index(index).await
}

async fn create_drawer_photos(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("drawer_photos")
        .col(uuid("id").primary_key())
        .col(int("drawer_id"))
        .col(text("media_type"))
        .col(int("bytes"))
        .col(text("digest"))
        .col(blob("content"))
        .col(int("added_at"))
        .foreign_key(
            ForeignKey::create()
                .from("drawer_photos", "drawer_id")
                .to("drawers", "id")
                .on_delete(ForeignKeyAction::Cascade),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("drawer_photos_drawer")
        .table("drawer_photos")
        .col("drawer_id")
        .col("digest")
        .unique()
        .to_owned();
    manager.create_index(index).await
}
