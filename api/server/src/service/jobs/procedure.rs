//! The procedure that a job is done by: from a text such as `PROC-07 rev 2` to a revision that is
//! entered here, and what is to be said of it.

use std::collections::HashMap;

use sea_orm::ConnectionTrait;
use types::JobProcedure;

use crate::service::procedures::{InForce, requirement};
use crate::service::{Error, codes};
use crate::store;
use crate::store::entity::{jobs, procedure_revisions as revisions, procedures};

/// What a job is done by.
#[derive(Clone, Debug, Default)]
pub(super) struct DoneBy {
    /// As it is kept: with its revision, where it is entered here.
    pub(super) text: Option<String>,
    /// The revision.
    pub(super) revision: Option<i64>,
    /// Whether it allows no substitution.
    pub(super) is_locked: bool,
}

/// Splits `PROC-07 rev 2` into the name and the number of the revision.
fn split(text: &str) -> (&str, Option<i64>) {
    let mut words = text.trim().rsplitn(3, char::is_whitespace);
    let (number, word, name) = (words.next(), words.next(), words.next());
    let number = number.and_then(|number| number.parse().ok());
    match (name, word, number) {
        (Some(name), Some(word), Some(number)) if is_revision(word) => (name.trim(), Some(number)),
        _ => (text.trim(), None),
    }
}

fn is_revision(word: &str) -> bool {
    let words = ["rev", "rev.", "revision"];
    words.iter().any(|known| word.eq_ignore_ascii_case(known))
}

/// Finds the revision that a text names. A name that no procedure here has stays a text.
///
/// # Errors
/// [`Error::Invalid`] if the procedure is entered and that revision of it is not.
pub(super) async fn bind(db: &impl ConnectionTrait, text: Option<&str>) -> Result<DoneBy, Error> {
    let Some(text) = text else {
        return Ok(DoneBy::default());
    };
    let unknown = DoneBy {
        text: Some(text.to_owned()),
        ..DoneBy::default()
    };
    let whole = store::procedures::find(db, text).await?;
    let (name, number) = match whole {
        Some(_) => (text, None),
        None => split(text),
    };
    let Some(procedure) = store::procedures::find(db, name).await? else {
        return Ok(unknown);
    };
    let rows = store::procedure_revisions::of_procedures(db, [procedure.id]).await?;
    let newest = rows.last().map_or(0, |row| row.revision);
    let wanted = number.unwrap_or(newest);
    let Some(row) = rows.iter().find(|row| row.revision == wanted) else {
        let code = &procedure.code;
        let why = format!(
            "{code} has no rev {wanted}; its newest is rev {newest}: name that one, or enter rev {wanted} first"
        );
        return Err(Error::invalid("/procedure", why));
    };
    Ok(DoneBy {
        text: Some(format!("{} rev {}", procedure.code, row.revision)),
        revision: Some(row.id),
        is_locked: !requirement(row)?.substitution,
    })
}

/// A job cannot be moved to a procedure that does not permit what it is promised.
///
/// # Errors
/// [`Error::Invalid`] at `/procedure`, with the part and the way out.
pub(super) async fn check_promises(
    db: &impl ConnectionTrait,
    job: &jobs::Model,
    now: i64,
) -> Result<(), Error> {
    let Some(in_force) = InForce::of_job(db, job, now).await? else {
        return Ok(());
    };
    let promises = store::movements::promises(db, [job.id]).await?;
    for part in store::parts::get_many(db, promises.iter().map(|row| row.part_id)).await? {
        if let Some(because) = in_force.why_not(&part)? {
            let (part, job) = (&part.code, &job.code);
            let why = format!(
                "{part} is promised to {job} and {because}; set the promise to 0 first, or keep the procedure"
            );
            return Err(Error::invalid("/procedure", why));
        }
    }
    Ok(())
}

/// The procedures that jobs are done by.
pub(super) struct Bound {
    revisions: HashMap<i64, revisions::Model>,
    newest: HashMap<i64, i64>,
    procedures: HashMap<i64, procedures::Model>,
    entered: HashMap<String, String>,
}

impl Bound {
    /// Reads those of the jobs, and those that jobs name without being held to them.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        rows: &[jobs::Model],
    ) -> Result<Self, Error> {
        let ids = rows.iter().filter_map(|row| row.procedure_revision_id);
        let revisions = store::procedure_revisions::get_many(db, ids).await?;
        let of = revisions.iter().map(|row| row.procedure_id);
        let all = store::procedure_revisions::of_procedures(db, of.clone()).await?;
        let procedures = store::procedures::get_many(db, of).await?;
        let free = rows
            .iter()
            .filter(|row| row.procedure_revision_id.is_none());
        let named = free.filter_map(|row| Some(split(row.procedure.as_deref()?).0));
        let entered = store::procedures::find_many(db, named).await?;
        Ok(Self {
            revisions: revisions.into_iter().map(|row| (row.id, row)).collect(),
            // Oldest first, so that the newest stays.
            newest: all
                .iter()
                .map(|row| (row.procedure_id, row.revision))
                .collect(),
            procedures: procedures.into_iter().map(|row| (row.id, row)).collect(),
            entered: entered
                .into_iter()
                .map(|row| (row.code_key, row.code))
                .collect(),
        })
    }

    /// The revision that a job is held to.
    pub(super) fn of(&self, job: &jobs::Model) -> Option<JobProcedure> {
        let row = self.revisions.get(&job.procedure_revision_id?)?;
        Some(JobProcedure {
            procedure: self.procedures.get(&row.procedure_id)?.code.clone(),
            revision: row.revision,
            newest_revision: self.newest.get(&row.procedure_id).copied()?,
        })
    }

    /// What is to be said of it.
    pub(super) fn says(&self, job: &jobs::Model) -> Vec<String> {
        let Some(text) = job.procedure.as_deref() else {
            return Vec::new();
        };
        let says = match self.of(job) {
            Some(by) if by.newest_revision > by.revision => Some(format!(
                "{} has a newer revision, rev {}: the job stays with rev {} until it is edited.",
                by.procedure, by.newest_revision, by.revision
            )),
            Some(_) => None,
            None => Some(match self.entered.get(&codes::key(split(text).0)) {
                Some(code) => format!(
                    "{code} was entered after the job: edit the job, so that its parts are held against it."
                ),
                None => format!(
                    "\"{text}\" is not entered here, so no part is held against it. Next: enter the procedure, or check its name."
                ),
            }),
        };
        says.into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_split_into_the_procedure_and_its_revision() {
        for (text, told) in [
            ("PROC-07 rev 2", ("PROC-07", Some(2))),
            (" PROC-07  Rev. 12 ", ("PROC-07", Some(12))),
            ("PROC-07 revision 0", ("PROC-07", Some(0))),
            ("PROC-07", ("PROC-07", None)),
            ("PROC-07 rev two", ("PROC-07 rev two", None)),
            ("the old sheet", ("the old sheet", None)),
        ] {
            assert_eq!(split(text), told, "{text}");
        }
    }
}
