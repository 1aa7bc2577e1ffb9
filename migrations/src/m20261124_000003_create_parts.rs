//! Parts, and the shop's own starting assumptions for them.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, real, text};

/// Parts, and the shop's own starting assumptions for them.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("parts")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("kind"))
            .col(text("class").null())
            .col(int("diameter_um").null())
            .col(int("length_um").null())
            .col(text("length").null())
            .col(text("family").null())
            .col(text("arrangement").null())
            .col(int("cup_number").null())
            .col(text("seat").null())
            .col(text("composition").null())
            .col(text("marking").null())
            .col(text("note").null())
            .col(int("created_at"))
            .col(int("version"))
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("starting_assumptions")
            .col(int("part_id"))
            .col(text("driver"))
            .col(real("shape"))
            .col(real("rate"))
            .primary_key(Index::create().col("part_id").col("driver"))
            .foreign_key(
                ForeignKey::create()
                    .from("starting_assumptions", "part_id")
                    .to("parts", "id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .to_owned();
        manager.create_table(table).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("starting_assumptions").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("parts").to_owned())
            .await?;
        Ok(())
    }
}
