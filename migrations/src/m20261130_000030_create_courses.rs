//! Courses, what they practise, and the parts that a course leaves out of its chance.

use sea_orm_migration::prelude::*;

use crate::column::{id, int, real, text};

/// Courses, what they practise, and the parts that a course leaves out of its chance.
#[derive(DeriveMigrationName, Debug)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true) // SQLite's default is none, which would leave half a step behind
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.create_table(courses()).await?;
        let index = Index::create()
            .name("courses_kit")
            .table("courses")
            .col("kit_id")
            .to_owned();
        manager.create_index(index).await?;
        let table = Table::create()
            .table("course_exercises")
            .col(int("course_id"))
            .col(int("position"))
            .col(text("exercise"))
            .primary_key(Index::create().col("course_id").col("position"))
            .foreign_key(&mut of_a_course("course_exercises"))
            .to_owned();
        manager.create_table(table).await?;
        let table = Table::create()
            .table("course_left_out")
            .col(int("course_id"))
            .col(int("part_id"))
            .primary_key(Index::create().col("course_id").col("part_id"))
            .foreign_key(&mut of_a_course("course_left_out"))
            .foreign_key(
                ForeignKey::create()
                    .from("course_left_out", "part_id")
                    .to("parts", "id"),
            )
            .to_owned();
        manager.create_table(table).await?;
        let index = Index::create()
            .name("course_left_out_part")
            .table("course_left_out")
            .col("part_id")
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["course_left_out", "course_exercises", "courses"] {
            manager
                .drop_table(Table::drop().table(table).to_owned())
                .await?;
        }
        Ok(())
    }
}

fn courses() -> TableCreateStatement {
    Table::create()
        .table("courses")
        .col(id())
        .col(text("code"))
        .col(text("code_key").unique_key())
        .col(text("name"))
        .col(int("site_id"))
        .col(int("kit_id"))
        .col(text("operator_group"))
        .col(text("starts"))
        .col(text("ends"))
        .col(int("heads"))
        .col(int("days"))
        .col(int("stations"))
        .col(real("target"))
        .col(real("clumsiness"))
        .col(real("grinds_per_student_day").null())
        .col(int("minutes_between_visits").null())
        .col(int("minutes_a_day").null())
        .col(int("version"))
        .foreign_key(
            ForeignKey::create()
                .from("courses", "site_id")
                .to("sites", "id"),
        )
        .foreign_key(
            ForeignKey::create()
                .from("courses", "kit_id")
                .to("kits", "id"),
        )
        .to_owned()
}

fn of_a_course(table: &'static str) -> ForeignKeyCreateStatement {
    ForeignKey::create()
        .from(table, "course_id")
        .to("courses", "id")
        .on_delete(ForeignKeyAction::Cascade)
        .to_owned()
}
