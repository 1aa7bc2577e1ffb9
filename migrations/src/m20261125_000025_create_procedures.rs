//! Written procedures, their revisions and what is signed for them; the revision that a job is done
//! by; and the grade that the maker of a general-class electrode declares.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text};

/// Written procedures.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_procedures(manager).await?;
        create_revisions(manager).await?;
        create_equivalences(manager).await?;
        create_withdrawals(manager).await?;
        for (table, column) in columns() {
            let change = Table::alter().table(table).add_column(column).to_owned();
            manager.alter_table(change).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, column) in [("jobs", "procedure_revision_id"), ("parts", "grade")] {
            let change = Table::alter().table(table).drop_column(column).to_owned();
            manager.alter_table(change).await?;
        }
        for table in [
            "equivalence_withdrawals",
            "equivalences",
            "procedure_revisions",
            "procedures",
        ] {
            manager
                .drop_table(Table::drop().table(table).to_owned())
                .await?;
        }
        Ok(())
    }
}

/// The new columns; both may be absent, so that the old program can still write.
fn columns() -> [(&'static str, ColumnDef); 2] {
    [
        ("parts", text("grade").null().take()),
        ("jobs", int("procedure_revision_id").null().take()),
    ]
}

async fn create_procedures(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("procedures")
        .col(id())
        .col(text("code"))
        .col(text("code_key").unique_key())
        .col(text("name"))
        .col(int("created_at"))
        .col(int("version"))
        .to_owned();
    manager.create_table(table).await
}

async fn create_revisions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("procedure_revisions")
        .col(id())
        .col(int("procedure_id"))
        .col(int("revision"))
        .col(text("requires"))
        .col(text("responsible").null())
        .col(text("why").null())
        .col(int("made_at"))
        .foreign_key(
            ForeignKey::create()
                .from("procedure_revisions", "procedure_id")
                .to("procedures", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let once = Index::create()
        .name("procedure_revisions_revision")
        .table("procedure_revisions")
        .col("procedure_id")
        .col("revision")
        .unique()
        .to_owned();
    manager.create_index(once).await
}

async fn create_equivalences(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("equivalences")
        .col(id())
        .col(int("revision_id"))
        .col(text("code"))
        .col(text("code_key"))
        .col(text("marking"))
        .col(text("class"))
        .col(int("diameter_um"))
        .col(text("grade").null())
        .col(text("signed_by"))
        .col(text("asked_by").null())
        .col(int("signed_at"))
        .col(int("offset_minutes"))
        .col(int("recorded_at"))
        .foreign_key(
            ForeignKey::create()
                .from("equivalences", "revision_id")
                .to("procedure_revisions", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let once = Index::create()
        .name("equivalences_code")
        .table("equivalences")
        .col("revision_id")
        .col("code_key")
        .unique()
        .to_owned();
    manager.create_index(once).await
}

async fn create_withdrawals(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("equivalence_withdrawals")
        .col(id())
        .col(int("equivalence_id").unique_key())
        .col(text("withdrawn_by"))
        .col(text("why").null())
        .col(int("withdrawn_at"))
        .foreign_key(
            ForeignKey::create()
                .from("equivalence_withdrawals", "equivalence_id")
                .to("equivalences", "id"),
        )
        .to_owned();
    manager.create_table(table).await
}
