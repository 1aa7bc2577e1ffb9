//! What the procedure of a job permits in the place of electrodes that are short, and what it does
//! not, with reasons. A part is offered only if the procedure and the rule of the site permit it.

use std::collections::BTreeSet;

use domain::part::{PartKind, PartSpec};
use domain::procedure::{Reason, State};
use sea_orm::ConnectionTrait;
use types::{AllowedPart, NeedsProcedure, NotOffered, PromisedTo};

use super::Weighed;
use crate::service::known::{self, View};
use crate::service::ledger::book;
use crate::service::procedures::InForce;
use crate::service::{Error, parts, site_rules};
use crate::store;
use crate::store::entity::{jobs, parts as part_rows, sites};
use crate::store::movements::Promise;

/// The job, where it is done, by what, and as of when.
pub(super) struct Under<'a> {
    pub(super) job: &'a jobs::Model,
    pub(super) site: &'a sites::Model,
    pub(super) in_force: &'a InForce,
    pub(super) view: View,
}

/// What could take the place of what is short.
#[derive(Default)]
pub(super) struct Instead {
    pub(super) allowed: Vec<AllowedPart>,
    pub(super) not_offered: Vec<Refused>,
    /// Codes of allowed parts that the torch of the job never had fitted.
    pub(super) without_history: BTreeSet<String>,
}

/// An electrode that may not be used, and in which few words.
pub(super) struct Refused {
    pub(super) told: NotOffered,
    /// `WTh20 (not on PROC-11)`.
    pub(super) says: String,
}

impl Instead {
    /// As the contract has it.
    pub(super) fn told(&self, in_force: &InForce) -> NeedsProcedure {
        NeedsProcedure {
            procedure: in_force.code.clone(),
            revision: in_force.revision,
            newest_revision: in_force.newest,
            substitution: in_force.requirement.substitution,
            allowed: self.allowed.clone(),
            not_offered: self.not_offered.iter().map(|it| it.told.clone()).collect(),
        }
    }
}

/// Why a part counts as none for a job: the rule of its site, or its procedure.
pub(super) fn held_because(
    part: &part_rows::Model,
    site: &sites::Model,
    in_force: Option<&InForce>,
) -> Result<Option<String>, Error> {
    let by_rule = site_rules::held_because(site, site_rules::of_part(site, part));
    match (by_rule, in_force) {
        (None, Some(in_force)) => in_force.why_not(part),
        (by_rule, _) => Ok(by_rule),
    }
}

/// Holds every electrode in stock against the procedure, for each electrode that is short.
pub(super) async fn instead(
    db: &impl ConnectionTrait,
    under: &Under<'_>,
    weighed: &[Weighed],
) -> Result<Instead, Error> {
    let short = weighed
        .iter()
        .filter(|part| part.short > 0 && part.part.kind == PartKind::Electrode.as_str());
    let short: Vec<&Weighed> = short.collect();
    let mut instead = Instead::default();
    if short.is_empty() {
        return Ok(instead);
    }
    let electrodes = store::parts::of_kinds(db, [PartKind::Electrode.as_str()]).await?;
    let ids: Vec<i64> = electrodes.iter().map(|part| part.id).collect();
    let levels = known::levels(db, under.view, (under.site.id, &ids)).await?;
    let promises = store::movements::all_promises(db, None).await?;
    let promises: Vec<Promise> = promises
        .into_iter()
        .filter(|row| row.site_id == under.site.id && row.job_id != under.job.id)
        .collect();
    let jobs = store::jobs::get_many(db, promises.iter().map(|row| row.job_id)).await?;
    let own = store::movements::promises_by(db, under.job.id, under.view.facts()).await?;
    let fitted = ever_fitted(db, under.job.torch_id).await?;
    for line in short {
        for part in electrodes.iter().filter(|part| part.id != line.part.id) {
            let book = levels.get(&part.id).copied().unwrap_or_default();
            let mut level = book::level(&book, part, under.site);
            if level.on_hand <= 0 {
                continue;
            }
            if let Some(refused) = refused(line, part, under, level.on_hand)? {
                instead.not_offered.push(refused);
                continue;
            }
            level.allocated -= super::promised(&own, (part.id, under.site.id));
            let of_part = promises.iter().filter(|row| row.part_id == part.id);
            let allocated = of_part.filter_map(|row| {
                Some(PromisedTo {
                    job: jobs.iter().find(|job| job.id == row.job_id)?.code.clone(),
                    quantity: row.quantity,
                })
            });
            let together = line.available + line.on_order.in_time + level.usable();
            instead.allowed.push(AllowedPart {
                instead_of: line.part.code.clone(),
                part: part.code.clone(),
                name: short_name(&parts::spec(part)?),
                on_hand: level.on_hand,
                allocated: allocated.collect(),
                available: level.usable(),
                together,
                need: line.need,
                covers: together >= line.need,
            });
            if !fitted.contains(&part.id) {
                instead.without_history.insert(part.code.clone());
            }
        }
    }
    Ok(instead)
}

/// The parts that a torch ever had fitted.
async fn ever_fitted(
    db: &impl ConnectionTrait,
    torch: Option<i64>,
) -> Result<BTreeSet<i64>, Error> {
    let set_ups = store::torches::set_ups(db, torch).await?;
    let fitted = store::torches::fitted(db, set_ups.iter().map(|row| row.id)).await?;
    Ok(fitted.into_iter().map(|row| row.part_id).collect())
}

/// Why a part is not offered in the place of one that is short, if it is not.
fn refused(
    line: &Weighed,
    part: &part_rows::Model,
    under: &Under<'_>,
    on_hand: i64,
) -> Result<Option<Refused>, Error> {
    let (spec, in_force) = (parts::spec(part)?, under.in_force);
    let verdict = in_force.verdict(part)?;
    let barred = site_rules::held_because(under.site, site_rules::of_part(under.site, part));
    let other_size = other_size(&parts::spec(&line.part)?, &spec);
    let code = &in_force.code;
    let (reason, few_words) = if let Some(barred) = barred {
        (barred.clone(), format!("{} ({barred})", short_name(&spec)))
    } else if verdict.state != State::Matches {
        (
            verdict.because(),
            in_few_words(&spec, &verdict.reasons, code),
        )
    } else if let Some(reason) = other_size {
        let few = in_few_words(&spec, std::slice::from_ref(&reason), code);
        (reason.to_string(), few)
    } else if !in_force.requirement.substitution && !is_same(&parts::spec(&line.part)?, &spec) {
        let reason = format!("{code} allows no substitution");
        (reason, format!("{} (no substitution)", short_name(&spec)))
    } else {
        return Ok(None);
    };
    let told = NotOffered {
        instead_of: line.part.code.clone(),
        part: part.code.clone(),
        name: spec.describe(),
        on_hand,
        reason,
    };
    Ok(Some(Refused {
        told,
        says: few_words,
    }))
}

/// The same electrode under another marking, such as one that was signed for: no substitution.
fn is_same(short: &PartSpec, other: &PartSpec) -> bool {
    match (short, other) {
        (
            PartSpec::Electrode {
                class, diameter, ..
            },
            PartSpec::Electrode {
                class: other,
                diameter: size,
                ..
            },
        ) => (class, diameter) == (other, size),
        _ => false,
    }
}

/// A permitted electrode of another diameter still needs its own collet, so it cannot take the place.
fn other_size(short: &PartSpec, other: &PartSpec) -> Option<Reason> {
    match (short, other) {
        (
            PartSpec::Electrode { diameter, .. },
            PartSpec::Electrode {
                diameter: other, ..
            },
        ) if diameter != other => Some(Reason::Size {
            is: *other,
            permitted: vec![*diameter],
        }),
        _ => None,
    }
}

/// `WCe20 2.4 mm`.
fn short_name(spec: &PartSpec) -> String {
    let PartSpec::Electrode {
        class, diameter, ..
    } = spec
    else {
        return spec.describe();
    };
    format!("{class} {diameter}")
}

/// `WTh20 (not on PROC-11)`, `2.5 mm (size)`.
fn in_few_words(spec: &PartSpec, reasons: &[Reason], procedure: &str) -> String {
    let PartSpec::Electrode {
        class, diameter, ..
    } = spec
    else {
        return spec.describe();
    };
    match reasons {
        [Reason::Size { .. }] => format!("{diameter} (size)"),
        [Reason::Class] => format!("{class} (not on {procedure})"),
        [Reason::ClassUnknown] => "unidentified (class unknown)".to_owned(),
        reasons => {
            let reasons: Vec<String> = reasons.iter().map(ToString::to_string).collect();
            format!("{} ({})", short_name(spec), reasons.join("; "))
        }
    }
}
