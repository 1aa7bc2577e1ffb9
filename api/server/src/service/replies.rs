//! Repeats of a request that is no entry of the ledger: the first answer is kept in the same
//! transaction as its effect, and given again.

use sea_orm::{ActiveValue::Set, DatabaseTransaction};
use serde::Serialize;

use super::Error;
use super::keys::Caller;
use super::ledger::Answer;
use crate::store::{self, entity::replies};

/// A request that may come again.
#[derive(Clone, Debug)]
pub struct Asked {
    /// Who asks.
    pub caller: Caller,
    /// The idempotency key.
    pub key: String,
    /// The hash of what was asked.
    pub hash: String,
    /// When, in microseconds.
    pub now: i64,
}

impl Asked {
    /// The answer that was given before, if any.
    ///
    /// # Errors
    /// [`Error::KeyReused`] if the key came with another request.
    pub async fn answer_before(&self, tx: &DatabaseTransaction) -> Result<Option<Answer>, Error> {
        let kept = store::replies::find_many(tx, [(self.caller.id(), self.key.as_str())]).await?;
        let Some(kept) = kept.get(&(self.caller.id(), self.key.clone())) else {
            return Ok(None);
        };
        if kept.request_hash != self.hash {
            return Err(Error::KeyReused(self.key.clone()));
        }
        let status = u16::try_from(kept.status).unwrap_or(200);
        Ok(Some(Answer {
            status,
            body: kept.body.clone(),
            repeated: true,
        }))
    }

    /// Keeps the answer and gives it.
    pub async fn answer(
        &self,
        tx: &DatabaseTransaction,
        status: u16,
        body: &impl Serialize,
    ) -> Result<Answer, Error> {
        let body =
            serde_json::to_string(body).map_err(|error| Error::Internal(error.to_string()))?;
        let row = replies::ActiveModel {
            caller: Set(self.caller.id()),
            key: Set(self.key.clone()),
            request_hash: Set(self.hash.clone()),
            status: Set(i64::from(status)),
            body: Set(body.clone()),
            created_at: Set(self.now),
        };
        store::replies::insert_many(tx, vec![row]).await?;
        Ok(Answer {
            status,
            body,
            repeated: false,
        })
    }
}
