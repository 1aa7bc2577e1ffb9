//! Wear by the current and the polarity that were told.

use sea_orm_migration::prelude::*;

use crate::column::{int, text};

/// Wear by current and polarity.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

/// What is added up.
const SUMS: [&str; 3] = ["events", "arc_seconds", "grinds"];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    /// The sums are empty until the service starts, which computes them from the ledger.
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let mut table = Table::create();
        table
            .table("wear_currents")
            .col(int("part_id"))
            .col(int("site_id"))
            .col(text("operator_group"))
            .col(text("polarity"))
            .col(int("amps"));
        for name in SUMS {
            table.col(int(name));
        }
        let table = table
            .primary_key(
                Index::create()
                    .col("part_id")
                    .col("site_id")
                    .col("operator_group")
                    .col("polarity")
                    .col("amps"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("wear_currents", "part_id")
                    .to("parts", "id"),
            )
            .foreign_key(
                ForeignKey::create()
                    .from("wear_currents", "site_id")
                    .to("sites", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("wear_currents_site")
            .table("wear_currents")
            .col("site_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("wear_currents").to_owned())
            .await
    }
}
