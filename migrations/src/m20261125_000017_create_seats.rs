//! Seats: which seat a pattern of part takes, and which it offers; with those that are usual, which a
//! shop checks against its torch maker's parts list and corrects.

use sea_orm_migration::prelude::*;

use crate::column::{bool, id, int, text};

/// Seats, with those that are usual.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

/// One row a pattern: code, kind, family, pattern, seat taken, seats offered, longest rod in micrometres,
/// source, note. No cell holds a comma.
const USUAL: &str = include_str!("seats/usual.csv");

const COLUMNS: [&str; 12] = [
    "code",
    "code_key",
    "subject_key",
    "kind",
    "family",
    "pattern",
    "takes",
    "offers",
    "longest_rod_um",
    "source",
    "note",
    "checked",
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let table = Table::create()
            .table("seats")
            .col(id())
            .col(text("code"))
            .col(text("code_key").unique_key())
            .col(text("subject_key").unique_key())
            .col(text("kind").null())
            .col(text("family").null())
            .col(text("pattern").null())
            .col(int("part_id").null())
            .col(text("takes").null())
            .col(text("offers"))
            .col(int("longest_rod_um").null())
            .col(text("source").null())
            .col(text("note").null())
            .col(bool("checked"))
            .col(int("version"))
            .foreign_key(
                ForeignKey::create()
                    .from("seats", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("seats_part")
            .table("seats")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await?;
        let mut usual = Query::insert();
        usual
            .into_table("seats")
            .columns(COLUMNS.into_iter().chain(["version"]));
        for line in USUAL.lines().skip(1) {
            usual.values_panic(row(line));
        }
        manager.execute(usual).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table("seats").to_owned())
            .await
    }
}

/// The values of one row, in the order of the columns, then the version.
fn row(line: &str) -> Vec<Expr> {
    let cells: Vec<&str> = line.split(',').collect();
    let told = |cell: usize| (!cells[cell].is_empty()).then(|| cells[cell].to_owned());
    let subject = format!("{}/{}/{}", cells[1], cells[2], cells[3]);
    let room: Option<i64> = cells[6].parse().ok();
    vec![
        cells[0].into(),
        cells[0].into(),
        subject.into(),
        cells[1].into(),
        told(2).into(),
        told(3).into(),
        told(4).into(),
        cells[5].into(),
        room.into(),
        told(7).into(),
        told(8).into(),
        false.into(),
        1.into(),
    ]
}
