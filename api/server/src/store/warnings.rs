//! Queries on warnings, on what was told in them, and on when a site was looked at.

use sea_orm::sea_query::OnConflict;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, Condition, ConnectionTrait, EntityTrait, IntoActiveModel,
    QueryFilter, QueryOrder, QuerySelect,
};
use uuid::Uuid;

use super::Error;
use super::entity::warnings::{Column, Entity, Model};
use super::entity::{
    counts, entries, looks as look, movements, order_lines, orders, warning_messages as message,
};
use super::work::Of;

/// Which warnings.
#[derive(Clone, Debug, Default)]
pub struct Which {
    /// Only of this site.
    pub site: Option<i64>,
    /// Only of this part.
    pub part: Option<i64>,
    /// Only those that are over, or only those that are not.
    pub is_closed: Option<bool>,
    /// Only before this one.
    pub before: Option<Uuid>,
}

/// The warning of that id, if there is one.
pub async fn find(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find_by_id(id)).await
}

/// A page, newest first.
pub async fn list(
    db: &impl ConnectionTrait,
    which: Which,
    limit: u64,
) -> Result<Vec<Model>, Error> {
    let mut these = Condition::all();
    these = these.add_option(which.site.map(|site| Column::SiteId.eq(site)));
    these = these.add_option(which.part.map(|part| Column::PartId.eq(part)));
    these = these.add_option(which.is_closed.map(|is_closed| {
        if is_closed {
            Column::ClosedAt.is_not_null()
        } else {
            Column::ClosedAt.is_null()
        }
    }));
    these = these.add_option(which.before.map(|before| Column::Id.lt(before)));
    Ok(Entity::find()
        .filter(these)
        .order_by_desc(Column::Id)
        .limit(limit)
        .all(db)
        .await?)
}

/// The open ones of a site, oldest first.
pub async fn open_at(db: &impl ConnectionTrait, site: i64) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::ClosedAt.is_null())
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// The open one about a subject, if there is one.
pub async fn about(db: &impl ConnectionTrait, subject: &str) -> Result<Option<Model>, Error> {
    super::only(db, Entity::find().filter(Column::OpenSubject.eq(subject))).await
}

/// Those of a site that were told from an instant on.
pub async fn told_since(
    db: &impl ConnectionTrait,
    site: i64,
    at: i64,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::ToldAt.gte(at))
        .all(db)
        .await?)
}

/// Those of a site that closed from an instant on, and had been told.
pub async fn closed_since(
    db: &impl ConnectionTrait,
    site: i64,
    at: i64,
) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .filter(Column::ClosedAt.gte(at))
        .filter(Column::ToldAt.is_not_null())
        .order_by_asc(Column::ClosedAt)
        .all(db)
        .await?)
}

/// Opens a warning, unless one about the same subject is open; whether it did.
pub async fn open(db: &impl ConnectionTrait, row: &Model) -> Result<bool, Error> {
    let once = OnConflict::column(Column::OpenSubject)
        .do_nothing()
        .to_owned();
    let done = Entity::insert(row.clone().into_active_model())
        .on_conflict(once)
        .exec_without_returning(db)
        .await?;
    Ok(done == 1)
}

/// Writes a warning as it is now.
pub async fn update(db: &impl ConnectionTrait, row: &Model) -> Result<(), Error> {
    row.clone()
        .into_active_model()
        .reset_all()
        .update(db)
        .await?;
    Ok(())
}

/// The instants at which messages other than of some kinds were told at a site, after an instant. What
/// is told when it closes is no message.
pub async fn messages_after(
    db: &impl ConnectionTrait,
    (site, after): (i64, i64),
    but_not_of: &[&str],
) -> Result<Vec<i64>, Error> {
    let rows = message::Entity::find()
        .filter(message::Column::At.gt(after))
        .filter(message::Column::Kind.is_in(["told", "escalated"]))
        .all(db)
        .await?;
    let of = Entity::find()
        .filter(Column::Id.is_in(rows.iter().map(|row| row.warning_id)))
        .filter(Column::SiteId.eq(site))
        .filter(Column::Kind.is_not_in(but_not_of.iter().copied()))
        .all(db)
        .await?;
    let counts = |row: &message::Model| of.iter().any(|warning| warning.id == row.warning_id);
    Ok(rows.into_iter().filter(counts).map(|row| row.at).collect())
}

/// What was told in those warnings, oldest first.
pub async fn messages_of(
    db: &impl ConnectionTrait,
    warnings: impl IntoIterator<Item = Uuid>,
) -> Result<Vec<message::Model>, Error> {
    let warnings: Vec<Uuid> = warnings.into_iter().collect();
    Ok(message::Entity::find()
        .filter(message::Column::WarningId.is_in(warnings))
        .order_by_asc(message::Column::Id)
        .all(db)
        .await?)
}

/// Keeps what was told.
pub async fn insert_message(db: &impl ConnectionTrait, row: message::Model) -> Result<(), Error> {
    message::Entity::insert(row.into_active_model())
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// When a site was last looked at.
pub async fn look(db: &impl ConnectionTrait, site: i64) -> Result<Option<look::Model>, Error> {
    super::only(db, look::Entity::find_by_id(site)).await
}

/// Keeps when a site was looked at.
pub async fn keep_look(db: &impl ConnectionTrait, row: look::Model) -> Result<(), Error> {
    let again = OnConflict::column(look::Column::SiteId)
        .update_columns([look::Column::LookedAt, look::Column::ReceivedBy])
        .to_owned();
    look::Entity::insert(row.into_active_model())
        .on_conflict(again)
        .exec_without_returning(db)
        .await?;
    Ok(())
}

/// Whether a movement of a kind was entered of a part at a site within those instants.
pub async fn moved_between(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    (from, to): (i64, i64),
    kind: &str,
) -> Result<bool, Error> {
    let query = movements::Entity::find()
        .filter(movements::Column::PartId.eq(part))
        .filter(movements::Column::SiteId.eq(site))
        .filter(movements::Column::Kind.eq(kind))
        .filter(movements::Column::HappenedAt.between(from, to))
        .limit(1);
    Ok(query.one(db).await?.is_some())
}

/// Whether a part was counted at a site within those instants.
pub async fn counted_between(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    (from, to): (i64, i64),
) -> Result<bool, Error> {
    let query = counts::Entity::find()
        .filter(counts::Column::PartId.eq(part))
        .filter(counts::Column::SiteId.eq(site))
        .filter(counts::Column::HappenedAt.between(from, to))
        .limit(1);
    Ok(query.one(db).await?.is_some())
}

/// Whether a part was ordered to a site within those instants.
pub async fn ordered_between(
    db: &impl ConnectionTrait,
    (part, site): (i64, i64),
    within: (i64, i64),
) -> Result<bool, Error> {
    let placed = placed(within).filter(orders::Column::SiteId.eq(site));
    let ids: Vec<i64> = placed.all(db).await?.iter().map(|order| order.id).collect();
    let lines = order_lines::Entity::find()
        .filter(order_lines::Column::OrderId.is_in(ids))
        .filter(order_lines::Column::PartId.eq(part))
        .limit(1);
    Ok(lines.one(db).await?.is_some())
}

/// Whether something was ordered for a piece of work within those instants.
pub async fn ordered_for_between(
    db: &impl ConnectionTrait,
    of: Of,
    within: (i64, i64),
) -> Result<bool, Error> {
    let is_for = match of {
        Of::Job(id) => orders::Column::JobId.eq(id),
        Of::Course(id) => orders::Column::CourseId.eq(id),
    };
    let query = placed(within).filter(is_for).limit(1);
    Ok(query.one(db).await?.is_some())
}

/// The warnings about a piece of work that were told and stand.
pub async fn told_about(db: &impl ConnectionTrait, of: Of) -> Result<Vec<Model>, Error> {
    let is_about = match of {
        Of::Job(id) => Column::JobId.eq(id),
        Of::Course(id) => Column::CourseId.eq(id),
    };
    Ok(Entity::find()
        .filter(is_about)
        .filter(Column::ToldAt.is_not_null())
        .filter(Column::ClosedAt.is_null())
        .all(db)
        .await?)
}

/// Whether something of a kind is kept of a warning.
pub async fn has_message(
    db: &impl ConnectionTrait,
    warning: Uuid,
    kind: &str,
) -> Result<bool, Error> {
    let query = message::Entity::find()
        .filter(message::Column::WarningId.eq(warning))
        .filter(message::Column::Kind.eq(kind))
        .limit(1);
    Ok(query.one(db).await?.is_some())
}

fn placed((from, to): (i64, i64)) -> sea_orm::Select<orders::Entity> {
    orders::Entity::find().filter(orders::Column::PlacedAt.between(from, to))
}

/// The newest entries, as many as that.
pub async fn newest_entries(db: &impl ConnectionTrait, limit: u64) -> Result<Vec<Uuid>, Error> {
    Ok(entries::Entity::find()
        .select_only()
        .column(entries::Column::Id)
        .order_by_desc(entries::Column::Id)
        .limit(limit)
        .into_tuple()
        .all(db)
        .await?)
}

/// The parts that those entries moved or counted, each after its site.
pub async fn moved_by(
    db: &impl ConnectionTrait,
    entries: &[Uuid],
) -> Result<Vec<(i64, i64)>, Error> {
    let moved: Vec<(i64, i64)> = movements::Entity::find()
        .select_only()
        .columns([movements::Column::SiteId, movements::Column::PartId])
        .filter(movements::Column::EntryId.is_in(entries.iter().copied()))
        .distinct()
        .into_tuple()
        .all(db)
        .await?;
    let counted: Vec<(i64, i64)> = counts::Entity::find()
        .select_only()
        .columns([counts::Column::SiteId, counts::Column::PartId])
        .filter(counts::Column::EntryId.is_in(entries.iter().copied()))
        .distinct()
        .into_tuple()
        .all(db)
        .await?;
    Ok(moved.into_iter().chain(counted).collect())
}
