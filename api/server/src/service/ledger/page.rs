//! The rows that a set of entries adds to the ledger, and the answers it keeps.

use std::collections::HashMap;

use domain::ledger::MovementKind;
use sea_orm::{ConnectionTrait, IntoActiveModel};
use serde::Serialize;
use uuid::Uuid;

use super::books::{Books, Moved, Occasion};
use super::doubles::Change;
use super::names::Names;
use super::{Answer, Request, lot};
use crate::service::questions::NewQuestion;
use crate::service::warnings::{self, Raised};
use crate::service::{Error, codes, instant};
use crate::store;
use crate::store::entity::{counts, entries, movements, questions, replies, stubs};

/// The status of an entry that was recorded: 201 Created.
const CREATED: u16 = 201;

/// Rows to be added.
#[derive(Debug, Default)]
pub(super) struct Page {
    kept: HashMap<(Uuid, String), replies::Model>,
    entries: Vec<entries::Model>,
    movements: Vec<movements::Model>,
    counts: Vec<counts::Model>,
    stubs: Vec<stubs::ActiveModel>,
    questions: Vec<questions::Model>,
    raised: Vec<(i64, i64, Raised)>,
    replies: Vec<replies::Model>,
    pub(super) changes: Vec<Change>,
    now: i64,
}

/// A movement to be added to the page and the books.
#[derive(Clone, Copy, Debug)]
pub(super) struct NewRow {
    /// The part.
    pub(super) part: i64,
    /// The site.
    pub(super) site: i64,
    /// The kind of movement.
    pub(super) kind: MovementKind,
    /// The quantity as told.
    pub(super) quantity: i64,
    /// The order it was received for.
    pub(super) order: Option<i64>,
}

impl Page {
    /// An empty page that knows the answers on record.
    pub(super) fn after(kept: HashMap<(Uuid, String), replies::Model>) -> Self {
        Self {
            kept,
            ..Self::default()
        }
    }

    /// The answer that was given before to the same key, or a refusal if it was for another request.
    pub(super) fn answer_before(&self, request: &Request) -> Option<Result<Answer, Error>> {
        let kept = self.kept.get(&(request.caller.id(), request.key.clone()))?;
        if kept.request_hash != request.hash {
            return Some(Err(Error::KeyReused(request.key.clone())));
        }
        let status = u16::try_from(kept.status).unwrap_or(CREATED);
        Some(Ok(Answer {
            status,
            body: kept.body.clone(),
            repeated: true,
        }))
    }

    /// Reads the changes among which double entries are looked for.
    pub(super) async fn load_changes(
        &mut self,
        db: &impl ConnectionTrait,
        set: &[Request],
        names: &Names,
    ) -> Result<(), Error> {
        let received = set.iter().map(|request| request.received_at);
        self.now = received.max().map_or(0, |now| now.timestamp_micros());
        self.changes = super::doubles::changes(db, set, names).await?;
        Ok(())
    }

    /// When the newest of the set was received.
    pub(super) fn now(&self) -> i64 {
        self.now
    }

    /// Asks a person something; gives the number of the question, old if it was open before.
    pub(super) async fn ask(
        &mut self,
        db: &impl ConnectionTrait,
        new: NewQuestion,
    ) -> Result<i64, Error> {
        let here = self
            .questions
            .iter()
            .find(|row| row.subject.as_ref() == Some(&new.subject));
        if let Some(row) = here {
            return Ok(row.id);
        }
        if let Some(row) = store::questions::about(db, &new.subject).await? {
            return Ok(row.id);
        }
        let number = match self.questions.last() {
            Some(row) => row.id + 1,
            None => store::questions::next_number(db).await?,
        };
        self.questions.push(new.row(number, self.now)?);
        Ok(number)
    }

    /// A question that this page asks about that subject, if it does.
    pub(super) fn asked(&mut self, subject: &str) -> Option<&mut questions::Model> {
        let mut asked = self.questions.iter_mut();
        asked.find(|row| row.subject.as_deref() == Some(subject))
    }

    /// Raises a warning about a fact at a site, which is told once while it stands; history is taken as it
    /// was.
    pub(super) fn raise(&mut self, entry: &entries::Model, raised: Raised) {
        if !entry.history {
            self.raised.push((entry.site_id, entry.received_at, raised));
        }
    }

    /// Adds an entry.
    pub(super) fn enter(&mut self, entry: entries::Model) {
        self.entries.push(entry);
    }

    /// Adds a count.
    pub(super) fn count(&mut self, count: counts::Model) {
        self.counts.push(count);
    }

    /// Adds a row of the stub jar.
    pub(super) fn stub(&mut self, row: stubs::ActiveModel) {
        self.stubs.push(row);
    }

    /// Adds a movement of an entry, here and in the books, with what follows from it: pieces issued
    /// for a job come off what it was promised, and what is taken of a lot is not on hold any more.
    pub(super) fn move_part(
        &mut self,
        entry: &entries::Model,
        row: NewRow,
        books: &mut Books,
    ) -> Result<(), Error> {
        self.add_row(entry, row, books)?;
        if let Some(lot) = entry.lot.as_deref() {
            let key = lot::key(row.part, row.site, lot);
            let freed = books.move_lot(key, row.kind, row.quantity)?;
            self.follow(entry, (row, MovementKind::Release, freed), books)?;
        }
        if let Some(job) = entry.job_id {
            let key = (job, row.part, row.site);
            match row.kind {
                MovementKind::Issue => {
                    let kept = row.quantity.min(books.promised(key)).max(0);
                    books.promise(key, -kept);
                    self.follow(entry, (row, MovementKind::Allocation, -kept), books)?;
                }
                MovementKind::Allocation => books.promise(key, row.quantity),
                MovementKind::Receipt
                | MovementKind::Return
                | MovementKind::Scrap
                | MovementKind::SupplierReturn
                | MovementKind::Adjustment
                | MovementKind::Transfer
                | MovementKind::Hold
                | MovementKind::Release
                | MovementKind::UnloggedUse => {}
            }
        }
        Ok(())
    }

    /// Adds a movement that follows from another one of the same entry, if it moves anything.
    fn follow(
        &mut self,
        entry: &entries::Model,
        (row, kind, quantity): (NewRow, MovementKind, i64),
        books: &mut Books,
    ) -> Result<(), Error> {
        if quantity == 0 {
            return Ok(());
        }
        let row = NewRow {
            kind,
            quantity,
            order: None,
            ..row
        };
        self.add_row(entry, row, books)
    }

    /// Adds a movement of an entry, here and in the books, by itself.
    pub(super) fn add_row(
        &mut self,
        entry: &entries::Model,
        row: NewRow,
        books: &mut Books,
    ) -> Result<(), Error> {
        let moved = Moved {
            kind: row.kind,
            quantity: row.quantity,
            when: Occasion::of(entry),
            group: &entry.operator_group,
        };
        books.move_part((row.part, row.site), moved)?;
        self.movements.push(movements::Model {
            id: Uuid::now_v7(),
            entry_id: entry.id,
            part_id: row.part,
            site_id: row.site,
            kind: row.kind.as_str().to_owned(),
            quantity: row.quantity,
            order_id: row.order,
            happened_at: entry.happened_at,
            lot_key: entry.lot.as_deref().map(codes::key),
        });
        Ok(())
    }

    /// Keeps the answer to a request that was recorded, and gives it.
    pub(super) fn answer(
        &mut self,
        request: &Request,
        body: &impl Serialize,
    ) -> Result<Answer, Error> {
        self.answer_as(CREATED, request, body)
    }

    /// Keeps the answer to a request and gives it.
    pub(super) fn answer_as(
        &mut self,
        status: u16,
        request: &Request,
        body: &impl Serialize,
    ) -> Result<Answer, Error> {
        let body =
            serde_json::to_string(body).map_err(|error| Error::Internal(error.to_string()))?;
        let reply = replies::Model {
            caller: request.caller.id(),
            key: request.key.clone(),
            request_hash: request.hash.clone(),
            status: i64::from(status),
            body: body.clone(),
            created_at: request.received_at.timestamp_micros(),
        };
        self.kept
            .insert((reply.caller, reply.key.clone()), reply.clone());
        self.replies.push(reply);
        Ok(Answer {
            status,
            body,
            repeated: false,
        })
    }

    /// Writes the rows.
    pub(super) async fn write(self, db: &impl ConnectionTrait) -> Result<(), Error> {
        let entries = self
            .entries
            .into_iter()
            .map(IntoActiveModel::into_active_model)
            .collect();
        store::entries::insert_many(db, entries).await?;
        let movements = self
            .movements
            .into_iter()
            .map(IntoActiveModel::into_active_model)
            .collect();
        store::movements::insert_many(db, movements).await?;
        for count in self.counts {
            store::counts::insert(db, count.into_active_model()).await?;
        }
        store::stubs::insert_many(db, self.stubs).await?;
        for question in self.questions {
            store::questions::insert(db, question).await?;
        }
        for (site, at, raised) in self.raised {
            warnings::raise(db, (site, instant::from_micros(at)), raised).await?;
        }
        let replies = self
            .replies
            .into_iter()
            .map(IntoActiveModel::into_active_model)
            .collect();
        store::replies::insert_many(db, replies).await?;
        Ok(())
    }
}
