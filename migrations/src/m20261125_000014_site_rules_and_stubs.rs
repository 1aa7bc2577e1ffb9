//! What a site bars, who is told there and what its collets still grip; the electrode that a grind
//! was of; and the stub jar, whose rows are only ever added.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text, uuid};

/// The new columns, by table; all may be absent, so that the old program can still write.
const TEXTS: [(&str, &str); 2] = [("sites", "barred"), ("sites", "responsible")];
const INTS: [(&str, &str); 2] = [("sites", "discard_um"), ("entries", "ground_part_id")];

/// What a site bars, and the stub jar.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, name) in TEXTS {
            add(manager, table, text(name).null().take()).await?;
        }
        for (table, name) in INTS {
            add(manager, table, int(name).null().take()).await?;
        }
        create_stubs(manager).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("stubs").to_owned())
            .await?;
        for (table, name) in INTS.into_iter().chain(TEXTS).rev() {
            let change = Table::alter().table(table).drop_column(name).to_owned();
            manager.alter_table(change).await?;
        }
        Ok(())
    }
}

async fn add(
    manager: &SchemaManager<'_>,
    table: &'static str,
    column: ColumnDef,
) -> Result<(), DbErr> {
    let change = Table::alter().table(table).add_column(column).to_owned();
    manager.alter_table(change).await
}

async fn create_stubs(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("stubs")
        .col(id())
        .col(uuid("entry_id"))
        .col(int("site_id"))
        .col(text("class"))
        .col(int("diameter_um"))
        .col(int("length_um").null())
        .col(text("lot").null())
        .col(int("quantity"))
        .col(int("happened_at"))
        .foreign_key(
            ForeignKey::create()
                .from("stubs", "entry_id")
                .to("entries", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("stubs", "site_id")
                .to("sites", "id"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let by_entry = Index::create()
        .name("stubs_entry")
        .table("stubs")
        .col("entry_id")
        .to_owned();
    manager.create_index(by_entry).await?;
    let jar = Index::create()
        .name("stubs_jar")
        .table("stubs")
        .col("site_id")
        .col("class")
        .col("diameter_um")
        .to_owned();
    manager.create_index(jar).await
}
