//! What a job needs beyond what any work does: its procedure, its torch, and what that lent. How parts
//! are weighed is in the parent.

use std::collections::{BTreeSet, HashMap};

use domain::exposure::{ArcTime, Grinds};
use domain::forecast::Target;
use domain::part::PartSpec;
use domain::safety::{About, Condition, Moment, cautions_at};
use domain::shared_factor::SharedFactor;
use domain::wear::JobSize;
use sea_orm::ConnectionTrait;
use types::Needs;

use super::buying::Market;
use super::procedure::{self, Instead, Under};
use super::work::{Kind, Planned, Work, counted};
use super::{Weighed, answer, instead, pooled, under_way, weigh_parts, words};
use crate::service::jobs::Takeoff;
use crate::service::known::View;
use crate::service::procedures::InForce;
use crate::service::{Error, codes, fits, jobs, torches};
use crate::store;
use crate::store::entity::{jobs as job_rows, parts as part_rows};

/// What a job needs, as the given connection sees it.
pub(in crate::service) async fn of_job(
    db: &impl ConnectionTrait,
    code: &str,
    view: View,
) -> Result<Needs, Error> {
    let job = codes::job(db, code).await?;
    let mut work = work(db, &job, view).await?;
    work.check_open(job.closed_at)?;
    under_way::rest(db, &mut work, (job.id, view)).await?;
    let mut weighing = weigh_parts(db, &work, view).await?;
    pooled::of_kit(db, (job.kit_id, &work, view), &mut weighing.weighed).await?;
    let mut instead = None;
    if let Some(in_force) = &work.in_force {
        let under = Under {
            job: &job,
            site: &work.site,
            in_force,
            view,
        };
        let found = procedure::instead(db, &under, &weighing.weighed).await?;
        pooled::of_procedure(&found, &mut weighing.weighed);
        instead = Some((in_force, found));
    }
    weighing.propose(&work)?;
    let mut needs = answer(&work, &weighing, view)?;
    if let Some((in_force, instead)) = &instead {
        tell(
            &mut needs,
            (in_force, instead),
            &weighing.weighed,
            &weighing.market,
        )?;
    }
    needs.says.extend(jobs::procedure_says(db, &job).await?);
    needs.assumes.extend(not_whole(db, &job).await?);
    let lent = lent(db, &job).await?;
    for (part, to) in &lent {
        let says = format!(
            "The torch is incomplete: it lent {part} to {to}. Next: put it back, or fit another, before \
             the start."
        );
        needs.says.insert(0, says);
    }
    needs.lent = lent.into_iter().map(|(part, _)| part).collect();
    Ok(needs)
}

/// A job as a piece of work.
pub(super) async fn work(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
    view: View,
) -> Result<Work, Error> {
    let site = store::sites::get_many(db, [job.site_id]).await?.pop();
    let site = site.ok_or_else(|| Error::Internal("a job lost its site".to_owned()))?;
    let (mut parts, mut left_out) = parts_of(db, job, view).await?;
    let takeoff = jobs::takeoff(db, job).await?;
    let papers = measured(db, job, &takeoff, (&mut parts, &mut left_out)).await?;
    let cautions = cautions_of(job, &takeoff, parts.iter().chain(&left_out))?;
    Ok(Work {
        kind: Kind::Job,
        code: job.code.clone(),
        site,
        group: job.operator_group.clone(),
        start: jobs::start(job)?,
        start_time: jobs::start_time(job),
        arc_per_day: arc_per_day(job)?,
        target: Target::new(job.target).map_err(|error| Error::Internal(error.to_string()))?,
        size: size(job, &takeoff)?,
        shared: SharedFactor::new(job.spread)
            .map_err(|error| Error::Internal(error.to_string()))?,
        parts,
        left_out: left_out.into_iter().map(|part| part.code).collect(),
        promises: store::movements::promises_by(db, job.id, view.facts()).await?,
        in_force: InForce::of_job(db, job, view.at.timestamp_micros()).await?,
        cautions,
        papers,
        size_says: size_says(job, &takeoff)?,
        under_way: None,
    })
}

/// Gas and filler of a job, which count beside what wears in its torch unless they are left out.
async fn measured(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
    takeoff: &Takeoff,
    (parts, left_out): (&mut Vec<part_rows::Model>, &mut Vec<part_rows::Model>),
) -> Result<HashMap<i64, Planned>, Error> {
    let filler = takeoff.filler.iter().map(|filler| filler.part);
    let ids: Vec<i64> = takeoff
        .gas
        .iter()
        .map(|(part, _)| *part)
        .chain(filler)
        .collect();
    let out = store::jobs::left_out(db, [job.id]).await?;
    let out: BTreeSet<i64> = out.iter().map(|row| row.part_id).collect();
    let rows = store::parts::get_many(db, ids.iter().copied()).await?;
    let mut papers = HashMap::new();
    for id in ids.into_iter().filter(|id| !out.contains(id)) {
        let Some(row) = rows.iter().find(|row| row.id == id) else {
            continue;
        };
        let planned = match (takeoff.gas, takeoff.filler.iter().find(|it| it.part == id)) {
            (_, Some(filler)) => Planned {
                amount: filler.grams,
                from: filler.from(row.diameter_um),
            },
            (Some((part, amount)), None) if part == id => Planned {
                amount,
                from: takeoff.gas_from.clone(),
            },
            (_, None) => continue,
        };
        if planned.amount > 0 {
            papers.insert(id, planned);
            left_out.retain(|other| other.id != id);
            parts.push(row.clone());
        }
    }
    Ok(papers)
}

/// How the size of a job came about, where it has a weld list.
fn size_says(job: &job_rows::Model, takeoff: &Takeoff) -> Result<Vec<String>, Error> {
    let Some(arc) = takeoff.arc else {
        return Ok(Vec::new());
    };
    let given = jobs::given_arc(job, arc)?;
    let of_list = || {
        format!(
            "The weld list adds up to {arc} of arc and {} starts.",
            takeoff.starts
        )
    };
    Ok(vec![given.unwrap_or_else(of_list)])
}

/// The arc time of a job a working day.
fn arc_per_day(job: &job_rows::Model) -> Result<Option<ArcTime>, Error> {
    let arc = job.arc_seconds_per_day.map(ArcTime::from_seconds);
    arc.transpose()
        .map_err(|error| Error::Internal(error.to_string()))
}

/// How large a job is.
fn size(job: &job_rows::Model, takeoff: &Takeoff) -> Result<JobSize, Error> {
    let fault = |error: domain::exposure::ExposureError| Error::Internal(error.to_string());
    Ok(JobSize {
        arc: job
            .arc_seconds
            .map(ArcTime::from_seconds)
            .transpose()
            .map_err(fault)?
            .or(takeoff.arc),
        grinds: job.grinds.map(Grinds::new).transpose().map_err(fault)?,
        weeks: job.weeks,
        student_days: None,
    })
}

/// That only what is fitted counts, where a job goes by its torch and that is not whole.
async fn not_whole(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
) -> Result<Option<String>, Error> {
    let (None, Some(torch)) = (job.kit_id, job.torch_id) else {
        return Ok(None);
    };
    let torch = store::torches::get_many(db, [torch]).await?.pop();
    let Some(torch) = torch else { return Ok(None) };
    let wanting = fits::wanting(db, &torch).await?;
    Ok((!wanting.is_empty()).then(|| {
        let (torch, wanting) = (&torch.code, wanting.join(", "));
        format!(
            "Only what is fitted in {torch} is counted, and {torch} is not whole: no {wanting}."
        )
    }))
}

/// What the torch of a job lent, and to which.
async fn lent(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
) -> Result<Vec<(String, String)>, Error> {
    let open = store::borrowings::open_from(db, job.torch_id).await?;
    let parts = store::parts::get_many(db, open.iter().map(|row| row.part_id)).await?;
    let torches = store::torches::get_many(db, open.iter().map(|row| row.to_torch_id)).await?;
    let told = open.iter().filter_map(|row| {
        let part = parts.iter().find(|part| part.id == row.part_id)?;
        let to = torches.iter().find(|torch| torch.id == row.to_torch_id)?;
        Some((part.code.clone(), to.code.clone()))
    });
    Ok(told.collect())
}

/// Adds what the procedure of the job permits in the place of what is short.
fn tell(
    needs: &mut Needs,
    (in_force, instead): (&InForce, &Instead),
    weighed: &[Weighed],
    market: &Market,
) -> Result<(), Error> {
    needs.procedure = Some(instead.told(in_force));
    // The sentences about orders depend on it: a procedure leaves no third way.
    needs.says = words::says(needs, Kind::Job);
    let earliest = |line: &Weighed| {
        let permitted = line.held_because.is_none();
        permitted.then(|| market.earliest(line.part.id)).flatten()
    };
    let told = instead::says(needs, (in_force, instead), weighed, earliest)?;
    needs.says.extend(told);
    needs.assumes.extend(instead::assumes(instead, weighed)?);
    Ok(())
}

/// The cautions of a job, by the conditions of its work and by all its parts.
fn cautions_of<'p>(
    job: &job_rows::Model,
    takeoff: &Takeoff,
    parts: impl Iterator<Item = &'p part_rows::Model>,
) -> Result<Vec<String>, Error> {
    let specs: Vec<PartSpec> = parts
        .map(crate::service::parts::spec)
        .collect::<Result<_, _>>()?;
    let mut conditions = jobs::conditions(job.conditions.as_deref());
    // What is planned says as much as what was ticked.
    conditions.extend(takeoff.is_purged.then_some(Condition::Purge));
    conditions.extend(takeoff.is_stainless.then_some(Condition::Stainless));
    let about = About::parts(&specs).under(conditions);
    Ok(cautions_at(&[Moment::JobPlan], &about))
}

/// The parts that count towards the chance, in the order of the kit or rear to tip, and those that
/// do not.
async fn parts_of(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
    view: View,
) -> Result<(Vec<part_rows::Model>, Vec<part_rows::Model>), Error> {
    let ids: Vec<i64> = match (job.kit_id, job.torch_id) {
        (Some(kit), _) => store::kits::lines(db, [kit])
            .await?
            .iter()
            .map(|line| line.part_id)
            .collect(),
        (None, Some(torch)) => torches::fitted_at(db, &[torch], view.past())
            .await?
            .remove(&torch)
            .unwrap_or_default(),
        (None, None) => Vec::new(),
    };
    let out = store::jobs::left_out(db, [job.id]).await?;
    let out: BTreeSet<i64> = out.iter().map(|row| row.part_id).collect();
    let lost = format!("job {}", job.code);
    counted(db, &ids, &out, &lost).await
}
