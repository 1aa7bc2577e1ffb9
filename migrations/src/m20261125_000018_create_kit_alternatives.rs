//! Slots of kits with alternatives: the other parts that will do in the place of the first.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// Slots of kits with alternatives.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("kit_alternatives")
            .col(int("kit_id"))
            .col(int("part_id"))
            .col(int("alternative_id"))
            .col(int("position"))
            .primary_key(
                Index::create()
                    .col("kit_id")
                    .col("part_id")
                    .col("alternative_id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from_tbl("kit_alternatives")
                    .from_col("kit_id")
                    .from_col("part_id")
                    .to_tbl("kit_lines")
                    .to_col("kit_id")
                    .to_col("part_id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("kit_alternatives", "alternative_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("kit_alternatives_part")
            .table("kit_alternatives")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("kit_alternatives_alternative")
            .table("kit_alternatives")
            .col("alternative_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("kit_alternatives").to_owned())
            .await
    }
}
