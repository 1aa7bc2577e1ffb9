//! A course from a row of a sheet.

use chrono::{DateTime, Utc};
use sea_orm::DatabaseTransaction;
use types::NewCourse;

use super::{given, not_a_job, replace_lists, row};
use crate::service::Error;
use crate::service::pushed::{Became, SetUp, differing};
use crate::store;

impl SetUp for NewCourse {
    async fn set_up(&self, tx: &DatabaseTransaction, _: DateTime<Utc>) -> Result<Became, Error> {
        let checked = self.check()?;
        if let Some(known) = store::courses::find(tx, &self.code).await? {
            let known = given(tx, known).await?;
            let new = Self {
                code: known.code.clone(),
                ends: Some(checked.ends),
                ..self.clone()
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
        not_a_job(tx, &self.code).await?;
        let row = row(tx, self, &checked).await?;
        let row = store::courses::insert(tx, row).await?;
        replace_lists(tx, row.id, self).await?;
        Ok(Became::SetUp(format!("set up as {}", row.code)))
    }
}
