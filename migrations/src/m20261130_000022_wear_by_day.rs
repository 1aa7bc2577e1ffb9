//! Wear by the shop's own days: the day of each entry, the source of its arc time, readings of an arc
//! timer, the student-days of a course, and the sums of each day beside the totals.

use sea_orm_migration::prelude::*;

use crate::column::{int, text};

/// Wear by day, the source of arc time, and student-days.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

/// What is new in the totals.
const TOTALS: [&str; 4] = [
    "events_counted",
    "arc_counter_seconds",
    "arc_cylinder_seconds",
    "student_days",
];

/// What is added up, for a day.
const SUMS: [&str; 9] = [
    "events",
    "events_counted",
    "arc_seconds",
    "arc_counter_seconds",
    "arc_cylinder_seconds",
    "grinds",
    "cut_backs",
    "starts",
    "student_days",
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        widen_entries(manager).await?;
        for name in TOTALS {
            let wear = Table::alter()
                .table("wear")
                .add_column(int(name).default(0))
                .to_owned();
            manager.alter_table(wear).await?;
        }
        create_days(manager).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("wear_days").to_owned())
            .await?;
        for name in TOTALS {
            let wear = Table::alter().table("wear").drop_column(name).to_owned();
            manager.alter_table(wear).await?;
        }
        for name in ["day", "arc_from", "student_days", "arc_timer_minutes"] {
            let entries = Table::alter().table("entries").drop_column(name).to_owned();
            manager.alter_table(entries).await?;
        }
        let entries = Table::alter()
            .table("entries")
            .rename_column("exposed_part_id", "ground_part_id")
            .to_owned();
        manager.alter_table(entries).await
    }
}

/// The day of what is on record follows from the offset that it was told with. Sums by day are empty
/// until the next `rebuild`, which computes them from the ledger.
async fn widen_entries(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let renamed = Table::alter()
        .table("entries")
        .rename_column("ground_part_id", "exposed_part_id")
        .to_owned();
    manager.alter_table(renamed).await?;
    for column in [
        int("day").default(0).take(),
        text("arc_from").null().take(),
        int("student_days").default(0).take(),
        int("arc_timer_minutes").null().take(),
    ] {
        let entries = Table::alter()
            .table("entries")
            .add_column(column)
            .to_owned();
        manager.alter_table(entries).await?;
    }
    let days = "UPDATE entries SET day = (happened_at + offset_minutes * 60000000) / 86400000000";
    manager.get_connection().execute_unprepared(days).await?;
    Ok(())
}

async fn create_days(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let mut table = Table::create();
    table
        .table("wear_days")
        .col(int("part_id"))
        .col(int("site_id"))
        .col(text("operator_group"))
        .col(int("day"));
    for name in SUMS {
        table.col(int(name));
    }
    let table = table
        .primary_key(
            Index::create()
                .col("part_id")
                .col("site_id")
                .col("operator_group")
                .col("day"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("wear_days", "part_id")
                .to("parts", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("wear_days", "site_id")
                .to("sites", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("wear_days_site")
        .table("wear_days")
        .col("site_id")
        .to_owned();
    manager.create_index(index).await
}
