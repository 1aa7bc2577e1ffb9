//! Jobs, and the parts that a job leaves out of its chance.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, real, text};

/// Jobs, and the parts that a job leaves out of its chance.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("jobs")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("name"))
            .col(int("site_id"))
            .col(int("torch_id").null())
            .col(int("kit_id").null())
            .col(text("operator_group"))
            .col(int("arc_seconds").null())
            .col(int("grinds").null())
            .col(real("weeks").null())
            .col(text("start"))
            .col(real("target"))
            .col(int("version"))
            .foreign_key(
                ForeignKey::create()
                    .from("jobs", "site_id")
                    .to("sites", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("jobs", "torch_id")
                    .to("torches", "id"),
            )
            .foreign_key(ForeignKey::create().from("jobs", "kit_id").to("kits", "id"))
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("job_left_out")
            .col(int("job_id"))
            .col(int("part_id"))
            .primary_key(Index::create().col("job_id").col("part_id"))
            .foreign_key(
                ForeignKey::create()
                    .from("job_left_out", "job_id")
                    .to("jobs", "id")
                    .on_delete(ForeignKeyAction::Cascade),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("job_left_out", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("job_left_out_part")
            .table("job_left_out")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("jobs_torch")
            .table("jobs")
            .col("torch_id")
            .to_owned();
        manager.create_index(index).await?;
        let index = Index::create()
            .name("jobs_kit")
            .table("jobs")
            .col("kit_id")
            .to_owned();
        manager.create_index(index).await?;
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("job_left_out").to_owned())
            .await?;
        manager
            .drop_table(Table::drop().table("jobs").to_owned())
            .await?;
        Ok(())
    }
}
