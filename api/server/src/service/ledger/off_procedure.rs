//! Use for a job of what its procedure does not permit. It is recorded like any other, since a fact
//! that is refused is a fact that nobody hears of; and the answer says so at once.

use domain::class::ElectrodeClass;
use domain::part::PartSpec;
use domain::size::{Diameter, RodLength};
use types::What;

use super::names::Names;
use crate::service::Error;
use crate::store::entity::{entries, parts};
use crate::store::stubs::Group;

/// What is to be said of the parts that an entry used for a job; nothing of what was put back unused,
/// and nothing of history.
pub(super) fn says(
    (entry, job): (&entries::Model, Option<&str>),
    what: Option<What>,
    used: &[&parts::Model],
    names: &Names,
) -> Result<String, Error> {
    let mut says = String::new();
    let Some((job, in_force)) = names.done_by(job) else {
        return Ok(says);
    };
    if what == Some(What::PutBack) || entry.history {
        return Ok(says);
    }
    let mut told = Vec::new();
    for part in used {
        if told.contains(&part.id) {
            continue;
        }
        told.push(part.id);
        if let Some(because) = in_force.why_not(part)? {
            says.push_str(&sentence(&part.code, &because, &job.code));
        }
    }
    Ok(says)
}

/// The same of a stub that was taken from the jar for a job.
pub(super) fn of_stub(
    (entry, job): (&entries::Model, Option<&str>),
    (name, group): (&str, &Group),
    names: &Names,
) -> String {
    let Some((job, in_force)) = names.done_by(job).filter(|_| !entry.history) else {
        return String::new();
    };
    let class = ElectrodeClass::parse(&group.class).unwrap_or(ElectrodeClass::Unidentified);
    let Some(diameter) = Diameter::from_um(group.diameter_um) else {
        return String::new();
    };
    let length = group.length_um.and_then(|um| RodLength::from_um(um).ok());
    let spec = PartSpec::Electrode {
        class,
        diameter,
        length,
    };
    let verdict = in_force.verdict_of_stub(&spec, None, group.lot.is_some());
    let because = in_force.because(&verdict);
    because.map_or_else(String::new, |because| {
        sentence(&format!("A stub of {name}"), &because, &job.code)
    })
}

fn sentence(used: &str, because: &str, job: &str) -> String {
    format!(" {used} is {because}, by which {job} is done: tell the person responsible.")
}
