//! When on its first day a job starts, how many hours it has a day, and how well they are known.

use sea_orm_migration::prelude::*;

use crate::column::{int, real};

/// When on its first day a job starts, how many hours it has a day, and how well they are known.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in [
            int("start_minute").null(),
            int("arc_seconds_per_day").null(),
            real("spread").default(0.0),
        ] {
            let jobs = Table::alter().table("jobs").add_column(column).to_owned();
            manager.alter_table(jobs).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in ["spread", "arc_seconds_per_day", "start_minute"] {
            let jobs = Table::alter().table("jobs").drop_column(column).to_owned();
            manager.alter_table(jobs).await?;
        }
        Ok(())
    }
}
