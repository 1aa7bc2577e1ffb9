//! The weld lists of jobs, and the shielding gas that a job uses.

use sea_orm_migration::prelude::*;

use crate::column::{int, text};

/// The weld lists of jobs, and the shielding gas that a job uses.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.create_table(gas()).await?;
        let index = Index::create()
            .name("job_gas_part")
            .table("job_gas")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        manager.create_table(welds()).await?;
        let index = Index::create()
            .name("job_welds_filler")
            .table("job_welds")
            .col("filler_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["job_welds", "job_gas"] {
            manager
                .drop_table(Table::drop().table(table).to_owned())
                .await?;
        }
        Ok(())
    }
}

fn gas() -> TableCreateStatement {
    Table::create()
        .table("job_gas")
        .col(int("job_id"))
        .col(int("part_id"))
        .col(int("flow_ml_per_minute"))
        .col(int("pre_flow_ms").null())
        .col(int("post_flow_ms").null())
        .col(int("purge_ml").null())
        .primary_key(Index::create().col("job_id").col("part_id"))
        .foreign_key(
            ForeignKey::create()
                .from("job_gas", "job_id")
                .to("jobs", "id")
                .on_delete(ForeignKeyAction::Cascade),
        )
        .foreign_key(
            ForeignKey::create()
                .from("job_gas", "part_id")
                .to("parts", "id"),
        )
        .to_owned()
}

fn welds() -> TableCreateStatement {
    Table::create()
        .table("job_welds")
        .col(int("job_id"))
        .col(int("position"))
        .col(text("joint"))
        .col(int("leg_um").null())
        .col(int("thickness_um").null())
        .col(int("gap_um").null())
        .col(int("root_face_um").null())
        .col(int("angle_degrees").null())
        .col(int("area_um2").null())
        .col(int("length_mm"))
        .col(int("passes").null())
        .col(int("speed_mm_per_minute"))
        .col(text("material"))
        .col(int("filler_id").null())
        .col(int("starts").null())
        .col(int("over_weld_percent").null())
        .col(int("efficiency_percent").null())
        .primary_key(Index::create().col("job_id").col("position"))
        .foreign_key(
            ForeignKey::create()
                .from("job_welds", "job_id")
                .to("jobs", "id")
                .on_delete(ForeignKeyAction::Cascade),
        )
        .foreign_key(
            ForeignKey::create()
                .from("job_welds", "filler_id")
                .to("parts", "id"),
        )
        .to_owned()
}
