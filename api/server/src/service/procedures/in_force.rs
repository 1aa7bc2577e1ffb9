//! A revision with the signatures that hold at an instant: what parts are held against. What is
//! refused for it is refused here, in one place and without a way around.

use std::collections::HashMap;

use domain::class::ElectrodeClass;
use domain::part::PartSpec;
use domain::procedure::{
    Candidate, Equivalence, Marking, NamedThing, Piece, Requirement, State, Verdict,
};
use domain::size::Diameter;
use sea_orm::ConnectionTrait;

use super::requires;
use crate::service::{Error, parts};
use crate::store;
use crate::store::entity::{
    equivalences, jobs, parts as part_rows, procedure_revisions as revisions,
};

/// A revision and what is signed for it.
#[derive(Clone, Debug)]
pub struct InForce {
    /// The code of the procedure.
    pub code: String,
    /// The number of the revision.
    pub revision: i64,
    /// The number of the newest revision.
    pub newest: i64,
    /// What it permits.
    pub requirement: Requirement,
    signed: Vec<Equivalence>,
    signatures: Vec<equivalences::Model>,
}

impl InForce {
    /// Those revisions, with the signatures that hold at an instant, by their ids.
    pub async fn load(
        db: &impl ConnectionTrait,
        rows: Vec<revisions::Model>,
        at: i64,
    ) -> Result<HashMap<i64, Self>, Error> {
        if rows.is_empty() {
            return Ok(HashMap::new());
        }
        let procedures = rows.iter().map(|row| row.procedure_id);
        let all = store::procedure_revisions::of_procedures(db, procedures.clone()).await?;
        let procedures = store::procedures::get_many(db, procedures).await?;
        let signed = store::equivalences::of_revisions(db, rows.iter().map(|row| row.id)).await?;
        let gone = store::equivalences::withdrawals(db, signed.iter().map(|row| row.id)).await?;
        let holds = |row: &equivalences::Model| {
            let own = gone.iter().find(|gone| gone.equivalence_id == row.id);
            row.signed_at <= at && own.is_none_or(|gone| gone.withdrawn_at > at)
        };
        let mut in_force = HashMap::new();
        for row in rows {
            let procedure = procedures.iter().find(|it| it.id == row.procedure_id);
            let procedure = procedure
                .ok_or_else(|| Error::Internal("a revision lost its procedure".to_owned()))?;
            let own = signed
                .iter()
                .filter(|it| it.revision_id == row.id && holds(it));
            let own: Vec<equivalences::Model> = own.cloned().collect();
            let newest = all
                .iter()
                .filter(|other| other.procedure_id == row.procedure_id && other.made_at <= at)
                .map(|other| other.revision)
                .max();
            let told = Self {
                code: procedure.code.clone(),
                revision: row.revision,
                newest: newest.unwrap_or(row.revision).max(row.revision),
                requirement: requires(&row)?.1,
                signed: own.iter().map(meant).collect::<Result<_, _>>()?,
                signatures: own,
            };
            in_force.insert(row.id, told);
        }
        Ok(in_force)
    }

    /// The revision that a job is done by, if it is entered here.
    pub async fn of_job(
        db: &impl ConnectionTrait,
        job: &jobs::Model,
        at: i64,
    ) -> Result<Option<Self>, Error> {
        let rows = store::procedure_revisions::get_many(db, job.procedure_revision_id).await?;
        Ok(Self::load(db, rows, at).await?.into_values().next())
    }

    /// `PROC-07 rev 2`.
    pub fn name(&self) -> String {
        format!("{} rev {}", self.code, self.revision)
    }

    /// `have the procedure revised (rev 3)`: the only way out.
    pub fn way_out(&self) -> String {
        format!("have the procedure revised (rev {})", self.newest + 1)
    }

    /// The signature of that name.
    pub fn signature(&self, id: &str) -> Option<&equivalences::Model> {
        self.signatures.iter().find(|row| row.code == id)
    }

    /// What the revision says of a part as delivered.
    pub fn verdict(&self, part: &part_rows::Model) -> Result<Verdict<'_>, Error> {
        let spec = parts::spec(part)?;
        let candidate = Candidate {
            spec: &spec,
            marking: part.marking.as_deref(),
            grade: part.grade.as_deref(),
            piece: Piece::Whole,
        };
        Ok(self.requirement.verdict(&candidate, &self.signed))
    }

    /// What it says of a stub: of what class and diameter it is, how its packet was marked, where that
    /// is known, and whether its lot is.
    pub fn verdict_of_stub(
        &self,
        spec: &PartSpec,
        marking: Option<&str>,
        lot_known: bool,
    ) -> Verdict<'_> {
        let candidate = Candidate {
            spec,
            marking,
            grade: None,
            piece: Piece::Stub { lot_known },
        };
        self.requirement.verdict(&candidate, &self.signed)
    }

    /// Why a part may not be planned: `not permitted by PROC-07 rev 2 (class not on the procedure)`.
    pub fn why_not(&self, part: &part_rows::Model) -> Result<Option<String>, Error> {
        Ok(self.because(&self.verdict(part)?))
    }

    /// The same of a verdict; nothing of one that matches.
    pub fn because(&self, verdict: &Verdict<'_>) -> Option<String> {
        let (name, because) = (self.name(), verdict.because());
        match verdict.state {
            State::Matches => None,
            State::NeedsSignOff => Some(format!("awaiting a sign-off under {name} ({because})")),
            State::DoesNotMatch => Some(format!("not permitted by {name} ({because})")),
        }
    }

    /// A plan for a job with a part that its procedure does not permit is refused.
    ///
    /// # Errors
    /// [`Error::Invalid`] at `pointer`, with part, job, reason and `way_out`.
    pub fn check_plan(
        &self,
        (job, part): (&str, &part_rows::Model),
        pointer: impl Into<String>,
        way_out: &str,
    ) -> Result<(), Error> {
        let Some(because) = self.why_not(part)? else {
            return Ok(());
        };
        let (code, revise) = (&part.code, self.way_out());
        let why = format!("{code} is {because}, by which {job} is done; {way_out}, or {revise}");
        Err(Error::invalid(pointer, why))
    }
}

/// An equivalence as the domain has it.
fn meant(row: &equivalences::Model) -> Result<Equivalence, Error> {
    let lost = || Error::Internal(format!("equivalence {} cannot be read back", row.id));
    Ok(Equivalence {
        id: row.code.clone(),
        marking: Marking::read(&row.marking),
        thing: NamedThing {
            class: ElectrodeClass::parse(&row.class).map_err(|_| lost())?,
            diameter: Diameter::from_um(row.diameter_um).ok_or_else(lost)?,
            grade: row.grade.clone(),
        },
    })
}
