//! Queries on what was logged for one piece of work, a job or a course.

use std::collections::BTreeMap;

use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, FromQueryResult, JoinType,
    QueryFilter, QuerySelect, Set,
};

use super::Error;
use super::entity::{courses, entries, jobs, movements, orders};
use super::past::Facts;

/// A piece of work, by the number of its row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// A job.
    Job(i64),
    /// A course.
    Course(i64),
}

impl Of {
    fn entries(self) -> Expr {
        match self {
            Self::Job(id) => entries::Column::JobId.eq(id),
            Self::Course(id) => entries::Column::CourseId.eq(id),
        }
    }
}

/// What a piece of work took, added up.
#[derive(Clone, Copy, Debug, Default, FromQueryResult)]
pub struct Worked {
    /// Seconds of arc time.
    pub arc_seconds: i64,
    /// Grinds.
    pub grinds: i64,
}

/// What a piece of work took, by those facts.
pub async fn worked(db: &impl ConnectionTrait, of: Of, facts: Facts) -> Result<Worked, Error> {
    let sum = |column: entries::Column| column.sum().if_null(0_i64).cast_as("bigint");
    let query = entries::Entity::find()
        .select_only()
        .column_as(sum(entries::Column::ArcSeconds), "arc_seconds")
        .column_as(sum(entries::Column::Grinds), "grinds")
        .filter(of.entries())
        .filter(facts.of_entries());
    let worked = query.into_model::<Worked>().all(db).await?.pop();
    Ok(worked.unwrap_or_default())
}

/// When the first work or use of a piece of work happened, if any did.
pub async fn first(db: &impl ConnectionTrait, of: Of) -> Result<Option<i64>, Error> {
    #[derive(FromQueryResult)]
    struct First {
        happened_at: Option<i64>,
    }
    let is_work = entries::Column::ArcSeconds
        .gt(0)
        .or(entries::Column::Grinds.gt(0))
        .or(entries::Column::StudentDays.gt(0))
        .or(entries::Column::What.is_not_null());
    let query = entries::Entity::find()
        .select_only()
        .column_as(entries::Column::HappenedAt.min(), "happened_at")
        .filter(of.entries())
        .filter(is_work);
    let first = query.into_model::<First>().all(db).await?.pop();
    Ok(first.and_then(|first| first.happened_at))
}

/// Whether anything was logged or ordered for a piece of work.
pub async fn is_on_record(db: &impl ConnectionTrait, of: Of) -> Result<bool, Error> {
    let ordered = match of {
        Of::Job(id) => orders::Column::JobId.eq(id),
        Of::Course(id) => orders::Column::CourseId.eq(id),
    };
    let entry = entries::Entity::find().filter(of.entries()).limit(1);
    let order = orders::Entity::find().filter(ordered).limit(1);
    Ok(!entry.all(db).await?.is_empty() || !order.all(db).await?.is_empty())
}

/// The student-days that are logged for each part of a piece of work.
pub async fn student_days(db: &impl ConnectionTrait, of: Of) -> Result<BTreeMap<i64, i64>, Error> {
    #[derive(FromQueryResult)]
    struct Taught {
        part_id: i64,
        student_days: i64,
    }
    let query = entries::Entity::find()
        .select_only()
        .column_as(entries::Column::ExposedPartId, "part_id")
        .column_as(
            entries::Column::StudentDays.sum().cast_as("bigint"),
            "student_days",
        )
        .filter(of.entries())
        .filter(entries::Column::ExposedPartId.is_not_null())
        .group_by(entries::Column::ExposedPartId);
    let rows = query.into_model::<Taught>().all(db).await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.part_id, row.student_days))
        .collect())
}

/// What a piece of work moved of a part, of one kind.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Moved {
    /// The part.
    pub part_id: i64,
    /// The kind of movement.
    pub kind: String,
    /// The sum of the quantities as told.
    pub quantity: i64,
}

/// What a piece of work moved, by part and kind.
pub async fn used(db: &impl ConnectionTrait, of: Of) -> Result<Vec<Moved>, Error> {
    let query = movements::Entity::find()
        .select_only()
        .columns([movements::Column::PartId, movements::Column::Kind])
        .column_as(
            movements::Column::Quantity.sum().cast_as("bigint"),
            "quantity",
        )
        .join(JoinType::InnerJoin, super::movements::to_entry())
        .filter(of.entries())
        .group_by(movements::Column::PartId)
        .group_by(movements::Column::Kind);
    Ok(query.into_model::<Moved>().all(db).await?)
}

/// Marks a piece of work as done, or as open again.
pub async fn close(db: &impl ConnectionTrait, of: Of, at: Option<i64>) -> Result<(), Error> {
    match of {
        Of::Job(id) => {
            let row = jobs::ActiveModel {
                id: Set(id),
                closed_at: Set(at),
                ..Default::default()
            };
            row.update(db).await?;
        }
        Of::Course(id) => {
            let row = courses::ActiveModel {
                id: Set(id),
                closed_at: Set(at),
                ..Default::default()
            };
            row.update(db).await?;
        }
    }
    Ok(())
}

/// The jobs at a site that are not done.
pub async fn open_jobs(db: &impl ConnectionTrait, site: i64) -> Result<Vec<jobs::Model>, Error> {
    let query = jobs::Entity::find()
        .filter(jobs::Column::SiteId.eq(site))
        .filter(jobs::Column::ClosedAt.is_null());
    Ok(query.all(db).await?)
}

/// The courses at a site that are not done.
pub async fn open_courses(
    db: &impl ConnectionTrait,
    site: i64,
) -> Result<Vec<courses::Model>, Error> {
    let query = courses::Entity::find()
        .filter(courses::Column::SiteId.eq(site))
        .filter(courses::Column::ClosedAt.is_null());
    Ok(query.all(db).await?)
}
