//! Watches, the warnings that come of them, what was told in each, and when a site was looked at; and
//! what a site wants to hear: its quiet hours, its weekly limit, its digest.

use sea_orm_migration::prelude::*;

use crate::column::{bool, int, real, text, uuid};

/// Watches, warnings, and what a site wants to hear.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

/// The new columns of sites.
const OF_SITES: [&str; 6] = [
    "quiet_from_minute",
    "quiet_to_minute",
    "quiet_weekdays",
    "weekly_limit",
    "digest_weekday",
    "digest_minute",
];

/// The indexes of what refers to another table and leads no other index.
const REFERENCES: [(&str, &str, &str); 7] = [
    ("watches_part", "watches", "part_id"),
    ("watches_kit", "watches", "kit_id"),
    ("watches_job", "watches", "job_id"),
    ("watches_course", "watches", "course_id"),
    ("warnings_part", "warnings", "part_id"),
    ("warnings_job", "warnings", "job_id"),
    ("warnings_course", "warnings", "course_id"),
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in OF_SITES {
            let column = match column {
                "quiet_weekdays" | "digest_weekday" => text(column).null().take(),
                _ => int(column).null().take(),
            };
            let table = Table::alter().table("sites").add_column(column).to_owned();
            manager.alter_table(table).await?;
        }
        manager.create_table(watches()).await?;
        // One watch a subject: a row takes the place of the watch that is there without one.
        unique(manager, "watches_once", "watches", &["site_id", "subject"]).await?;
        manager.create_table(warnings()).await?;
        // One open episode a subject, whoever looks: an absent value is equal to no other.
        unique(manager, "warnings_open", "warnings", &["open_subject"]).await?;
        index(
            manager,
            "warnings_site",
            "warnings",
            &["site_id", "told_at"],
        )
        .await?;
        manager.create_table(messages()).await?;
        index(
            manager,
            "warning_messages_of",
            "warning_messages",
            &["warning_id"],
        )
        .await?;
        index(manager, "warning_messages_at", "warning_messages", &["at"]).await?;
        for (name, table, column) in REFERENCES {
            index(manager, name, table, &[column]).await?;
        }
        manager.create_table(looks()).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["looks", "warning_messages", "warnings", "watches"] {
            manager
                .drop_table(Table::drop().table(table).to_owned())
                .await?;
        }
        for column in OF_SITES {
            let table = Table::alter().table("sites").drop_column(column).to_owned();
            manager.alter_table(table).await?;
        }
        Ok(())
    }
}

fn watches() -> TableCreateStatement {
    Table::create()
        .table("watches")
        .col(uuid("id").primary_key())
        .col(int("site_id"))
        .col(text("kind"))
        .col(text("subject"))
        .col(int("part_id").null())
        .col(int("kit_id").null())
        .col(int("job_id").null())
        .col(int("course_id").null())
        .col(text("filter").null())
        .col(text("low_at"))
        .col(int("week_minutes").null())
        .col(real("target").null())
        .col(int("review_days").null())
        .col(text("channels"))
        .col(bool("is_off"))
        .col(text("off_because").null())
        .col(int("version"))
        .foreign_key(&mut to("watches", "site_id", "sites"))
        .foreign_key(&mut to("watches", "part_id", "parts"))
        .foreign_key(&mut to("watches", "kit_id", "kits"))
        .foreign_key(&mut to("watches", "job_id", "jobs"))
        .foreign_key(&mut to("watches", "course_id", "courses"))
        .to_owned()
}

fn warnings() -> TableCreateStatement {
    Table::create()
        .table("warnings")
        .col(uuid("id").primary_key())
        .col(int("site_id"))
        .col(text("kind"))
        .col(text("subject"))
        .col(text("open_subject").null())
        .col(int("part_id").null())
        .col(int("job_id").null())
        .col(int("course_id").null())
        .col(text("channels"))
        .col(int("opened_at"))
        .col(int("told_at").null())
        .col(real("told_chance").null())
        .col(int("escalated_at").null())
        .col(int("quiet_until").null())
        .col(int("quiet_on_hand").null())
        .col(int("held_back_at").null())
        .col(int("digested_at").null())
        .col(int("acknowledged_at").null())
        .col(text("acknowledged_by").null())
        .col(int("closed_at").null())
        .col(text("says"))
        .col(text("details"))
        .foreign_key(&mut to("warnings", "site_id", "sites"))
        .foreign_key(&mut to("warnings", "part_id", "parts"))
        .foreign_key(&mut to("warnings", "job_id", "jobs"))
        .foreign_key(&mut to("warnings", "course_id", "courses"))
        .to_owned()
}

fn messages() -> TableCreateStatement {
    Table::create()
        .table("warning_messages")
        .col(uuid("id").primary_key())
        .col(uuid("warning_id"))
        .col(text("kind"))
        .col(int("at"))
        .col(text("says"))
        .foreign_key(&mut to("warning_messages", "warning_id", "warnings"))
        .to_owned()
}

fn looks() -> TableCreateStatement {
    Table::create()
        .table("looks")
        .col(int("site_id").primary_key())
        .col(int("looked_at"))
        .col(int("received_by"))
        .foreign_key(&mut to("looks", "site_id", "sites"))
        .to_owned()
}

fn to(table: &'static str, column: &'static str, other: &'static str) -> ForeignKeyCreateStatement {
    ForeignKey::create()
        .from(table, column)
        .to(other, "id")
        .to_owned()
}

async fn index(
    manager: &SchemaManager<'_>,
    name: &'static str,
    table: &'static str,
    columns: &[&'static str],
) -> Result<(), DbErr> {
    let mut index = Index::create().name(name).table(table).to_owned();
    for column in columns {
        index.col(*column);
    }
    manager.create_index(index).await
}

async fn unique(
    manager: &SchemaManager<'_>,
    name: &'static str,
    table: &'static str,
    columns: &[&'static str],
) -> Result<(), DbErr> {
    let mut index = Index::create().name(name).table(table).unique().to_owned();
    for column in columns {
        index.col(*column);
    }
    manager.create_index(index).await
}
