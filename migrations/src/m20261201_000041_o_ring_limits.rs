//! When the shop wants to be reminded of an O-ring: after so many months and cap removals. Without them the
//! starting assumption of the program holds.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// When the shop wants to be reminded of an O-ring.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

const LIMITS: [&str; 2] = ["renew_months", "renew_removals"];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for name in LIMITS {
            let table = Table::alter()
                .table("parts")
                .add_column(int(name).null())
                .to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for name in LIMITS.iter().rev() {
            let table = Table::alter().table("parts").drop_column(*name).to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }
}
