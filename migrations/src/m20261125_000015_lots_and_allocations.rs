//! Lots of movements, what is allocated to jobs, and the procedure that a job is done by.

use sea_orm_migration::prelude::*;

use crate::column::{bool, int, text};

/// Lots of movements, what is allocated to jobs, and the procedure that a job is done by.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let movements = Table::alter()
            .table("movements")
            .add_column(text("lot_key").null())
            .to_owned();
        manager.alter_table(movements).await?;
        // The lot was on the entry alone; its movements are of the same lot.
        manager
            .get_connection()
            .execute_unprepared(
                "UPDATE movements SET lot_key = \
                 (SELECT lower(lot) FROM entries WHERE entries.id = movements.entry_id)",
            )
            .await?;
        let index = Index::create()
            .name("movements_lot")
            .table("movements")
            .col("lot_key")
            .to_owned();
        manager.create_index(index).await?;
        let levels = Table::alter()
            .table("levels")
            .add_column(int("allocated").default(0))
            .to_owned();
        manager.alter_table(levels).await?;
        for column in [
            text("procedure").null().take(),
            bool("locked").default(false).take(),
        ] {
            let jobs = Table::alter().table("jobs").add_column(column).to_owned();
            manager.alter_table(jobs).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, column) in [
            ("jobs", "locked"),
            ("jobs", "procedure"),
            ("levels", "allocated"),
        ] {
            let table = Table::alter().table(table).drop_column(column).to_owned();
            manager.alter_table(table).await?;
        }
        let index = Index::drop()
            .name("movements_lot")
            .table("movements")
            .to_owned();
        manager.drop_index(index).await?;
        let movements = Table::alter()
            .table("movements")
            .drop_column("lot_key")
            .to_owned();
        manager.alter_table(movements).await
    }
}
