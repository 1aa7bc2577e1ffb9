//! Queries on questions. A question changes once: when it is answered, or closes by itself.

use sea_orm::ActiveValue::Set;
use sea_orm::sea_query::Expr;
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::questions::{ActiveModel, Column, Entity, Model};

/// The state of a question that waits for an answer.
pub const OPEN: &str = "open";
/// The state of a question that a person answered.
pub const ANSWERED: &str = "answered";
/// The state of a question that answered itself.
pub const CLOSED: &str = "closed";

/// Which questions to list.
#[derive(Clone, Debug, Default)]
pub struct Which {
    /// Only in this state.
    pub state: Option<String>,
    /// Only of this site.
    pub site: Option<i64>,
    /// Only of this part.
    pub part: Option<i64>,
    /// Only before this one.
    pub before: Option<i64>,
}

/// The question of that number, if there is one.
pub async fn find(db: &impl ConnectionTrait, number: i64) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(number)).await
}

/// A page, newest first.
pub async fn list(
    db: &impl ConnectionTrait,
    which: Which,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut these = Condition::all();
    these = these.add_option(which.state.map(|state| Column::State.eq(state)));
    these = these.add_option(which.site.map(|site| Column::SiteId.eq(site)));
    these = these.add_option(which.part.map(|part| Column::PartId.eq(part)));
    these = these.add_option(which.before.map(|before| Column::Id.lt(before)));
    Ok(Entity::find()
        .filter(these)
        .order_by_desc(Column::Id)
        .limit(limit)
        .all(db)
        .await?)
}

/// The open question about that subject, if there is one.
pub async fn about(db: &impl ConnectionTrait, subject: &str) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find().filter(Column::Subject.eq(subject))).await
}

/// The open questions of a kind at a site.
pub async fn open_at(
    db: &impl ConnectionTrait,
    kind: &str,
    site: i64,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::State.eq(OPEN))
        .filter(Column::Kind.eq(kind))
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The open questions of a kind about those parts at a site.
pub async fn open_of(
    db: &impl ConnectionTrait,
    kind: &str,
    (parts, site): (impl IntoIterator<Item = i64>, i64),
) -> Result<Vec<Model>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    Ok(Entity::find()
        .filter(Column::PartId.is_in(parts))
        .filter(Column::State.eq(OPEN))
        .filter(Column::Kind.eq(kind))
        .filter(Column::SiteId.eq(site))
        .all(db)
        .await?)
}

/// The questions of a kind about those parts at a site that were open at an instant.
pub async fn open_then(
    db: &impl ConnectionTrait,
    kind: &str,
    (parts, site): (impl IntoIterator<Item = i64>, i64),
    at: i64,
) -> Result<Vec<Model>, Error> {
    let parts: Vec<i64> = parts.into_iter().collect();
    let unanswered = Condition::any()
        .add(Column::AnsweredAt.is_null())
        .add(Column::AnsweredAt.gt(at));
    Ok(Entity::find()
        .filter(Column::PartId.is_in(parts))
        .filter(Column::AskedAt.lte(at))
        .filter(unanswered)
        .filter(Column::Kind.eq(kind))
        .filter(Column::SiteId.eq(site))
        .all(db)
        .await?)
}

/// The open questions that name an entry.
pub async fn open_about(db: &impl ConnectionTrait, entry: Uuid) -> Result<Vec<Model>, Error> {
    let names = Condition::any()
        .add(Column::EntryId.eq(entry))
        .add(Column::OtherEntryId.eq(entry));
    Ok(Entity::find()
        .filter(names)
        .filter(Column::State.eq(OPEN))
        .all(db)
        .await?)
}

/// All questions that name one of those entries.
pub async fn of_entries(db: &impl ConnectionTrait, entries: &[Uuid]) -> Result<Vec<Model>, Error> {
    let names = Condition::any()
        .add(Column::EntryId.is_in(entries.iter().copied()))
        .add(Column::OtherEntryId.is_in(entries.iter().copied()));
    Ok(Entity::find()
        .filter(names)
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The number that the next question gets.
pub async fn next_number(db: &impl ConnectionTrait) -> Result<i64, Error> {
    let newest: Option<Option<i64>> = Entity::find()
        .select_only()
        .column_as(Column::Id.max(), "newest")
        .into_tuple()
        .one(db)
        .await?;
    Ok(newest.flatten().unwrap_or(0) + 1)
}

/// Adds a question.
pub async fn insert(db: &impl ConnectionTrait, row: Model) -> Result<(), Error> {
    Entity::insert(row.into_active_model())
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// Replaces the words and details of an open question.
pub async fn reword(
    db: &impl ConnectionTrait,
    number: i64,
    says: String,
    details: String,
) -> Result<(), Error> {
    let row = ActiveModel {
        says: Set(says),
        details: Set(details),
        ..ActiveModel::default()
    };
    Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(number))
        .exec(db)
        .await?;
    Ok(())
}

/// How a question ended.
#[derive(Clone, Debug)]
pub struct End {
    /// [`ANSWERED`] or [`CLOSED`].
    pub state: &'static str,
    /// What was answered.
    pub answer: Option<String>,
    /// What changed, or why it closed.
    pub outcome: String,
    /// Who answered.
    pub by: Option<String>,
    /// Under which key.
    pub key: Option<Uuid>,
    /// When.
    pub at: i64,
}

/// Ends an open question; whether it was open.
pub async fn end(db: &impl ConnectionTrait, number: i64, end: End) -> Result<bool, Error> {
    let row = ActiveModel {
        state: Set(end.state.to_owned()),
        subject: Set(None),
        answer: Set(end.answer),
        outcome: Set(Some(end.outcome)),
        answered_by: Set(end.by),
        key_id: Set(end.key),
        answered_at: Set(Some(end.at)),
        ..ActiveModel::default()
    };
    let done = Entity::update_many()
        .set(row)
        .filter(Column::Id.eq(number))
        .filter(Column::State.eq(OPEN))
        .exec(db)
        .await?;
    Ok(done.rows_affected == 1)
}

/// Says how an answered question turned out.
pub async fn tell_outcome(
    db: &impl ConnectionTrait,
    number: i64,
    outcome: &str,
) -> Result<(), Error> {
    Entity::update_many()
        .col_expr(Column::Outcome, Expr::value(outcome))
        .filter(Column::Id.eq(number))
        .exec(db)
        .await?;
    Ok(())
}
