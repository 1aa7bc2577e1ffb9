//! A part from a row of a sheet.

use chrono::{DateTime, Utc};
use sea_orm::ActiveValue::Set;
use sea_orm::DatabaseTransaction;
use types::NewPart;

use super::{checked, marking, view};
use crate::service::Error;
use crate::service::pushed::{Became, SetUp, differing};
use crate::store;
use crate::store::entity::parts;

impl SetUp for NewPart {
    async fn set_up(&self, tx: &DatabaseTransaction, now: DateTime<Utc>) -> Result<Became, Error> {
        let spec = self.spec()?;
        let row = checked(self)?;
        if let Some(known) = store::parts::find(tx, &self.code).await? {
            let known = view(tx, known).await?.into_new();
            let new = Self {
                marking: marking(self),
                grade: self.grade.clone(),
                renew_months: self.renew_months,
                renew_removals: self.renew_removals,
                note: self.note.clone(),
                ..Self::from_spec(&known.code, &spec)
            };
            let differing = differing(&known, &new)?;
            return Ok(if differing.is_empty() {
                Became::Known
            } else {
                Became::Refused(format!(
                    "{} is set up otherwise ({}): change it there, or give this row another code",
                    known.code,
                    differing.join(", ")
                ))
            });
        }
        let row = parts::ActiveModel {
            created_at: Set(now.timestamp_micros()),
            ..row
        };
        store::parts::insert(tx, row).await?;
        Ok(Became::SetUp(format!("set up: {}", spec.describe())))
    }
}
