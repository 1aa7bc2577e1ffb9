//! The end of a piece of work: when a job or a course was closed, and to which course a use belongs.

use sea_orm_migration::prelude::*;

use crate::column::int;

/// When jobs and courses were closed, and the course of a use.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

/// The new columns, by table.
const COLUMNS: [(&str, &str); 3] = [
    ("jobs", "closed_at"),
    ("courses", "closed_at"),
    ("entries", "course_id"),
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, column) in COLUMNS {
            let table = Table::alter()
                .table(table)
                .add_column(int(column).null())
                .to_owned();
            manager.alter_table(table).await?;
        }
        let index = Index::create()
            .name("entries_course")
            .table("entries")
            .col("course_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let index = Index::drop()
            .name("entries_course")
            .table("entries")
            .to_owned();
        manager.drop_index(index).await?;
        for (table, column) in COLUMNS {
            let table = Table::alter().table(table).drop_column(column).to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }
}
