//! Reading the ledger back.

use std::collections::HashMap;

use domain::ledger::MovementKind;
use sea_orm::ConnectionTrait;
use types::{
    Count, CountPage, ListCounts, ListMovements, ListUsage, Movement, MovementPage, Page, Usage,
    UsagePage,
};
use uuid::Uuid;

use super::variance;
use crate::service::{Context, Error, codes, instant, keys};
use crate::store::entity::{counts, entries, movements};
use crate::store::{self, movements::Which};

/// The codes of what entries refer to, and the entries themselves.
pub(super) struct Codes {
    entries: HashMap<Uuid, entries::Model>,
    parts: HashMap<i64, String>,
    sites: HashMap<i64, String>,
    torches: HashMap<i64, String>,
    jobs: HashMap<i64, String>,
}

impl Codes {
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        entries: Vec<entries::Model>,
        keys: impl Iterator<Item = (i64, i64)>,
    ) -> Result<Self, Error> {
        let (parts, sites): (Vec<i64>, Vec<i64>) = keys.unzip();
        let parts = store::parts::get_many(db, parts).await?;
        let sites = entries.iter().map(|row| row.site_id).chain(sites);
        let sites = store::sites::get_many(db, sites).await?;
        let torches =
            store::torches::get_many(db, entries.iter().filter_map(|row| row.torch_id)).await?;
        let jobs = store::jobs::get_many(db, entries.iter().filter_map(|row| row.job_id)).await?;
        Ok(Self {
            entries: entries.into_iter().map(|row| (row.id, row)).collect(),
            parts: parts.into_iter().map(|row| (row.id, row.code)).collect(),
            sites: sites.into_iter().map(|row| (row.id, row.code)).collect(),
            torches: torches.into_iter().map(|row| (row.id, row.code)).collect(),
            jobs: jobs.into_iter().map(|row| (row.id, row.code)).collect(),
        })
    }

    pub(super) fn part(&self, id: i64) -> String {
        self.parts.get(&id).cloned().unwrap_or_default()
    }

    pub(super) fn site(&self, id: i64) -> String {
        self.sites.get(&id).cloned().unwrap_or_default()
    }

    pub(super) fn torch(&self, id: Option<i64>) -> Option<String> {
        self.torches.get(&id?).cloned()
    }

    pub(super) fn job(&self, id: Option<i64>) -> Option<String> {
        self.jobs.get(&id?).cloned()
    }

    fn movement(&self, row: movements::Model, reversed: bool) -> Option<Movement> {
        let entry = self.entries.get(&row.entry_id)?;
        Some(Movement {
            id: row.id,
            entry: row.entry_id,
            kind: row.kind,
            part: self.part(row.part_id),
            site: self.site(row.site_id),
            quantity: row.quantity,
            group: entry.operator_group.clone(),
            why: entry.what.clone().or_else(|| entry.why.clone()),
            torch: self.torch(entry.torch_id),
            job: self.job(entry.job_id),
            lot: entry.lot.clone(),
            order: row.order_id,
            by: entry.person.clone(),
            reverses: entry.reverses,
            reversed,
            at: instant::with_offset(entry.happened_at, entry.offset_minutes),
            received_at: instant::from_micros(entry.received_at),
        })
    }

    fn usage(
        &self,
        row: &entries::Model,
        (took, reversed): (Option<&movements::Model>, bool),
    ) -> Usage {
        Usage {
            entry: row.id,
            site: self.site(row.site_id),
            group: row.operator_group.clone(),
            torch: self.torch(row.torch_id),
            job: self.job(row.job_id),
            what: row.what.clone(),
            part: took.map(|took| self.part(took.part_id)),
            qty: took.map(|took| took.quantity.abs()),
            lot: row.lot.clone(),
            amps: row.amps,
            polarity: row.polarity.clone(),
            note: row.note.clone(),
            reversed,
            arc_minutes: row.arc_seconds / 60,
            grinds: row.grinds,
            cut_backs: row.cut_backs,
            starts: row.starts,
            by: row.person.clone(),
            reverses: row.reverses,
            at: instant::with_offset(row.happened_at, row.offset_minutes),
            received_at: instant::from_micros(row.received_at),
        }
    }

    fn count(&self, row: &counts::Model, variance: i64, reversed: bool) -> Option<Count> {
        let entry = self.entries.get(&row.entry_id)?;
        Some(Count {
            entry: row.entry_id,
            part: self.part(row.part_id),
            site: self.site(row.site_id),
            counted: row.counted,
            book: row.book,
            variance,
            by: entry.person.clone(),
            reversed,
            at: instant::with_offset(entry.happened_at, entry.offset_minutes),
            received_at: instant::from_micros(entry.received_at),
        })
    }
}

fn page(limit: Option<u64>, after: Option<&str>) -> Result<(u64, Option<Uuid>), Error> {
    let limit = Page { limit, after: None }.limit();
    Ok((limit, after.map(keys::cursor).transpose()?))
}

/// A page of the ledger.
pub async fn list_movements(
    context: &Context,
    query: &ListMovements,
) -> Result<MovementPage, Error> {
    let db = context.store.read();
    let (limit, before) = page(query.limit, query.after.as_deref())?;
    let part = match &query.part {
        Some(part) => Some(codes::named_part(db, "?part", part).await?.id),
        None => None,
    };
    let kind = query.kind.as_deref().map(MovementKind::parse).transpose();
    let kind = kind.map_err(|why| Error::invalid("?kind", why.to_string()))?;
    let torch = match &query.torch {
        Some(torch) => Some(codes::named_torch(db, "?torch", torch).await?.id),
        None => None,
    };
    let rows = store::movements::list(
        db,
        Which {
            part,
            kind,
            torch,
            before,
        },
        limit,
    )
    .await?;
    let next = codes::next(&rows, limit, |row| row.id.to_string());
    let entries = store::entries::get_many(db, rows.iter().map(|row| row.entry_id)).await?;
    let codes = Codes::load(
        db,
        entries,
        rows.iter().map(|row| (row.part_id, row.site_id)),
    )
    .await?;
    let reversed = store::entries::reversed(db, rows.iter().map(|row| row.entry_id)).await?;
    let movements = rows.into_iter().filter_map(|row| {
        let is_reversed = reversed.contains(&row.entry_id);
        codes.movement(row, is_reversed)
    });
    Ok(MovementPage {
        movements: movements.collect(),
        next,
    })
}

/// A page of logged use.
pub async fn list_usage(context: &Context, query: &ListUsage) -> Result<UsagePage, Error> {
    let db = context.store.read();
    let (limit, before) = page(query.limit, query.after.as_deref())?;
    let torch = match &query.torch {
        Some(torch) => Some(codes::named_torch(db, "?torch", torch).await?.id),
        None => None,
    };
    let rows = store::entries::list_usage(db, torch, before, limit).await?;
    let next = codes::next(&rows, limit, |row| row.id.to_string());
    let took = store::movements::of_entries(db, rows.iter().map(|row| row.id)).await?;
    let reversed = store::entries::reversed(db, rows.iter().map(|row| row.id)).await?;
    let keys = took.iter().map(|row| (row.part_id, row.site_id));
    let codes = Codes::load(db, rows.clone(), keys).await?;
    // An entry of use moves one part, if any.
    let took: HashMap<Uuid, &movements::Model> =
        took.iter().map(|row| (row.entry_id, row)).collect();
    let usage = rows.iter().map(|row| {
        let took = took.get(&row.id).copied();
        codes.usage(row, (took, reversed.contains(&row.id)))
    });
    Ok(UsagePage {
        usage: usage.collect(),
        next,
    })
}

/// A page of counts.
pub async fn list_counts(context: &Context, query: &ListCounts) -> Result<CountPage, Error> {
    let db = context.store.read();
    let (limit, before) = page(query.limit, query.after.as_deref())?;
    let part = match &query.part {
        Some(part) => Some(codes::named_part(db, "?part", part).await?.id),
        None => None,
    };
    let rows = store::counts::list(db, part, before, limit).await?;
    let next = codes::next(&rows, limit, |row| row.entry_id.to_string());
    let entries = store::entries::get_many(db, rows.iter().map(|row| row.entry_id)).await?;
    let reversed = store::entries::reversed(db, rows.iter().map(|row| row.entry_id)).await?;
    let codes = Codes::load(
        db,
        entries,
        rows.iter().map(|row| (row.part_id, row.site_id)),
    )
    .await?;
    let mut counts = Vec::with_capacity(rows.len());
    for row in rows {
        let reversed = reversed.contains(&row.entry_id);
        let found = variance(db, row).await?;
        counts.extend(codes.count(&found.count, found.amount(), reversed));
    }
    Ok(CountPage { counts, next })
}
