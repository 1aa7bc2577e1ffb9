//! What is told: events, to whom each of them goes, and who is told by which channel.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, text, uuid};

/// What is told: events, to whom each of them goes, and who is told by which channel.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        create_events(manager).await?;
        create_deliveries(manager).await?;
        create_webhooks(manager).await?;
        create_mail_addresses(manager).await?;
        create_digests(manager).await?;
        let table = Table::create()
            .table("link_keys")
            .col(id())
            .col(text("secret"))
            .col(int("created_at"))
            .to_owned();
        manager.create_table(table).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let tables = [
            "link_keys",
            "digests",
            "mail_addresses",
            "webhooks",
            "deliveries",
            "events",
        ];
        for table in tables {
            let table = Table::drop().table(table).to_owned();
            manager.drop_table(table).await?;
        }
        Ok(())
    }
}

async fn create_events(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // The sequence is never given twice, so that who reads on from a number misses nothing.
    let table = Table::create()
        .table("events")
        .col(int("sequence").primary_key().auto_increment())
        .col(uuid("id").unique_key())
        .col(text("kind"))
        .col(text("subject"))
        .col(text("site").null())
        .col(text("part").null())
        .col(uuid("warning_id").null())
        .col(int("at"))
        .col(text("says"))
        .col(text("data"))
        .to_owned();
    manager.create_table(table).await?;
    let index = Index::create()
        .name("events_warning")
        .table("events")
        .col("warning_id")
        .to_owned();
    manager.create_index(index).await
}

async fn create_deliveries(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("deliveries")
        .col(uuid("id").primary_key())
        .col(int("event_sequence"))
        .col(text("channel"))
        .col(uuid("target"))
        .col(text("subject"))
        .col(text("state"))
        .col(int("attempts"))
        .col(int("first_at").null())
        .col(int("next_at"))
        .col(int("claimed_until").null())
        .col(text("last_answer").null())
        .col(int("ended_at").null())
        .foreign_key(
            ForeignKey::create()
                .from("deliveries", "event_sequence")
                .to("events", "sequence"),
        )
        .to_owned();
    manager.create_table(table).await?;
    let once = Index::create()
        .name("deliveries_once")
        .table("deliveries")
        .col("event_sequence")
        .col("target")
        .unique()
        .to_owned();
    manager.create_index(once).await?;
    // What is due, and what has to wait for an earlier one of the same receiver and subject.
    let lanes = Index::create()
        .name("deliveries_lanes")
        .table("deliveries")
        .col("state")
        .col("target")
        .col("subject")
        .col("event_sequence")
        .to_owned();
    manager.create_index(lanes).await
}

async fn create_webhooks(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("webhooks")
        .col(uuid("id").primary_key())
        .col(text("url"))
        .col(text("note").null())
        .col(text("kinds"))
        .col(text("site").null())
        .col(text("secret"))
        .col(text("secret_before").null())
        .col(int("secret_before_until").null())
        .col(int("disabled_at").null())
        .col(text("disabled_why").null())
        .col(int("failing_since").null())
        .col(text("last_answer").null())
        .col(int("last_answer_at").null())
        .col(int("created_at"))
        .col(int("version"))
        .to_owned();
    manager.create_table(table).await
}

async fn create_mail_addresses(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("mail_addresses")
        .col(uuid("id").primary_key())
        .col(text("address").unique_key())
        .col(text("note").null())
        .col(text("kinds"))
        .col(text("site").null())
        .col(int("failing_since").null())
        .col(text("last_answer").null())
        .col(int("last_answer_at").null())
        .col(int("created_at"))
        .col(int("version"))
        .to_owned();
    manager.create_table(table).await
}

async fn create_digests(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = Table::create()
        .table("digests")
        .col(int("site_id"))
        .col(text("day"))
        .col(uuid("event_id").null())
        .col(int("made_at"))
        // One a site and day, also when two processes look at the same time.
        .primary_key(Index::create().col("site_id").col("day"))
        .foreign_key(
            ForeignKey::create()
                .from("digests", "site_id")
                .to("sites", "id"),
        )
        .to_owned();
    manager.create_table(table).await
}
