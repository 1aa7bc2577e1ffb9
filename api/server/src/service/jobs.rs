//! Jobs.

use std::collections::HashMap;

use domain::safety::Condition;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{DEFAULT_GROUP, Job, JobPage, NewJob, Page, START_DEFAULT, SetUpJob};

use super::warnings::acted;
use super::{Context, Error, codes, instant};
use crate::store::{self, entity::jobs, work::Of};

mod procedure;
mod start;
mod welds;

use start::{clock, start_minute};
pub use start::{start, start_time};
pub use welds::{Filler, Takeoff, given_arc, takeoff};

/// A page of jobs.
pub async fn list(context: &Context, page: &Page) -> Result<JobPage, Error> {
    let db = context.store.read();
    let rows = store::jobs::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(JobPage {
        jobs: views(db, rows).await?,
        next,
    })
}

/// One job.
pub async fn get(context: &Context, code: &str) -> Result<Job, Error> {
    let db = context.store.read();
    view(db, codes::job(db, code).await?).await
}

/// Sets up a job.
pub async fn create(context: &Context, new: NewJob, how: &SetUpJob) -> Result<Job, Error> {
    new.check()?;
    let now = (!how.begun).then(|| context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            not_a_course(tx, &new.code).await?;
            let row = row(tx, &new).await?;
            if let Some(now) = now {
                start::check_to_come(tx, *row.site_id.as_ref(), &new, now).await?;
            }
            let row = store::jobs::insert(tx, row)
                .await
                .map_err(codes::taken("job", &new.code))?;
            leave_out(tx, row.id, &new).await?;
            welds::keep(tx, row.id, &new).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces a job.
pub async fn replace(context: &Context, code: &str, seen: i64, new: NewJob) -> Result<Job, Error> {
    codes::keep_code(code, &new.code)?;
    new.check()?;
    let now = context.clock.now();
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::job(tx, &code).await?;
            codes::check_version("job", &old.code, old.version, seen)?;
            let row = jobs::ActiveModel {
                code: NotSet,
                code_key: NotSet,
                ..row(tx, &new).await?
            };
            let site = *row.site_id.as_ref();
            if (start(&old)?, start_time(&old))
                != (new.start, new.start_time().unwrap_or(START_DEFAULT))
            {
                start::check_to_come(tx, site, &new, now).await?;
            }
            store::jobs::update(tx, (old.id, old.version), row).await?;
            leave_out(tx, old.id, &new).await?;
            welds::keep(tx, old.id, &new).await?;
            let edited = codes::job(tx, &code).await?;
            if let Some(says) = acted::eased_job(&old, &edited) {
                acted::note(tx, Of::Job(edited.id), (says, now)).await?;
            }
            procedure::check_promises(tx, &edited, now.timestamp_micros()).await?;
            view(tx, edited).await
        })
    });
    write.await
}

/// Removes a job that nothing was logged or ordered for.
pub async fn delete(context: &Context, code: &str, seen: i64) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::job(tx, &code).await?;
            codes::check_version("job", &old.code, old.version, seen)?;
            let remedy = "something was logged or ordered for it, so it stays on record";
            store::jobs::delete(tx, old.id)
                .await
                .map_err(codes::in_use("job", &old.code, remedy))
        })
    });
    write.await
}

/// A code names a job or a course, so that whoever plans it need not say which.
async fn not_a_course(db: &impl ConnectionTrait, code: &str) -> Result<(), Error> {
    if store::courses::find(db, code).await?.is_none() {
        return Ok(());
    }
    Err(Error::invalid(
        "/code",
        format!("{code} is the code of a course; choose another one for the job"),
    ))
}

async fn row(db: &impl ConnectionTrait, new: &NewJob) -> Result<jobs::ActiveModel, Error> {
    let (target, conditions) = new.check()?;
    let done_by = procedure::bind(db, new.procedure.as_deref()).await?;
    let torch = match &new.torch {
        Some(torch) => Some(codes::named_torch(db, "/torch", torch).await?),
        None => None,
    };
    let kit = match &new.kit {
        Some(kit) => Some(codes::named_kit(db, "/kit", kit).await?.id),
        None => None,
    };
    let site = match (&new.site, &torch) {
        (None, Some(torch)) => torch.site_id,
        (site, _) => codes::site_or_first(db, "/site", site.as_deref()).await?.id,
    };
    Ok(jobs::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        site_id: Set(site),
        torch_id: Set(torch.map(|torch| torch.id)),
        kit_id: Set(kit),
        operator_group: Set(new
            .group
            .clone()
            .unwrap_or_else(|| DEFAULT_GROUP.to_owned())),
        arc_seconds: Set(new.arc_minutes.map(|minutes| minutes * 60)),
        grinds: Set(new.grinds),
        weeks: Set(new.weeks),
        start: Set(new.start.format(start::DAY).to_string()),
        start_minute: Set(start_minute(new)?),
        arc_seconds_per_day: Set(new.arc_minutes_per_day.map(|minutes| minutes * 60)),
        spread: Set(new.spread.unwrap_or_default()),
        target: Set(target.get()),
        locked: Set(new.locked || done_by.is_locked),
        procedure: Set(done_by.text),
        procedure_revision_id: Set(done_by.revision),
        conditions: Set(kept(&conditions)),
        version: Set(1),
        ..Default::default()
    })
}

async fn leave_out(db: &impl ConnectionTrait, job: i64, new: &NewJob) -> Result<(), Error> {
    let told: Vec<&str> = new.left_out.iter().map(String::as_str).collect();
    let parts = codes::named_parts(db, &told, |index| format!("/left_out/{index}")).await?;
    let mut ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    ids.sort_unstable();
    ids.dedup();
    Ok(store::jobs::replace_left_out(db, job, &ids).await?)
}

/// The conditions of the work as they are kept: their words with commas between them, or nothing.
fn kept(conditions: &[Condition]) -> Option<String> {
    let words: Vec<&str> = conditions.iter().map(|one| one.as_str()).collect();
    (!words.is_empty()).then(|| words.join(","))
}

/// The conditions of the work of a job, from the column that keeps them.
pub fn conditions(column: Option<&str>) -> Vec<Condition> {
    let words = column.unwrap_or_default().split(',');
    words
        .filter_map(|word| Condition::parse(word).ok())
        .collect()
}

/// What is to be said of the procedure of a job: that it is not entered, or has a newer revision.
pub(super) async fn procedure_says(
    db: &impl ConnectionTrait,
    job: &jobs::Model,
) -> Result<Vec<String>, Error> {
    let bound = procedure::Bound::load(db, std::slice::from_ref(job)).await?;
    Ok(bound.says(job))
}

async fn views(db: &impl ConnectionTrait, rows: Vec<jobs::Model>) -> Result<Vec<Job>, Error> {
    let codes = Codes::load(db, &rows).await?;
    let procedures = procedure::Bound::load(db, &rows).await?;
    let lists = welds::Lists::load(db, &rows).await?;
    rows.into_iter()
        .map(|row| {
            let (version, done_by) = (row.version, procedures.of(&row));
            let closed_at = row.closed_at.map(instant::from_micros);
            let mut says = procedures.says(&row);
            says.extend(lists.says(&row)?);
            let told = codes.told(row, &lists)?;
            Ok(told.into_view(done_by, closed_at, says, version))
        })
        .collect()
}

/// The codes of what jobs refer to.
struct Codes {
    sites: HashMap<i64, String>,
    torches: HashMap<i64, String>,
    kits: HashMap<i64, String>,
    left_out: HashMap<i64, Vec<String>>,
}

impl Codes {
    async fn load(db: &impl ConnectionTrait, rows: &[jobs::Model]) -> Result<Self, Error> {
        let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
        let torches = rows.iter().filter_map(|row| row.torch_id);
        let torches = store::torches::get_many(db, torches).await?;
        let kits = store::kits::get_many(db, rows.iter().filter_map(|row| row.kit_id)).await?;
        let out = store::jobs::left_out(db, rows.iter().map(|row| row.id)).await?;
        let parts = store::parts::get_many(db, out.iter().map(|row| row.part_id)).await?;
        let parts: HashMap<i64, String> = parts.into_iter().map(|row| (row.id, row.code)).collect();
        let mut left_out: HashMap<i64, Vec<String>> = HashMap::new();
        for row in out {
            if let Some(part) = parts.get(&row.part_id) {
                left_out.entry(row.job_id).or_default().push(part.clone());
            }
        }
        Ok(Self {
            sites: sites.into_iter().map(|row| (row.id, row.code)).collect(),
            torches: torches.into_iter().map(|row| (row.id, row.code)).collect(),
            kits: kits.into_iter().map(|row| (row.id, row.code)).collect(),
            left_out,
        })
    }

    fn told(&self, row: jobs::Model, lists: &welds::Lists) -> Result<NewJob, Error> {
        let gas = lists.gas(row.id)?;
        Ok(NewJob {
            welds: lists.of(row.id),
            gas: gas.part,
            gas_flow: gas.flow,
            pre_flow_ms: gas.pre_flow_ms,
            post_flow_ms: gas.post_flow_ms,
            purge_litres: gas.purge_litres,
            start: start(&row)?,
            code: row.code,
            name: Some(row.name),
            site: self.sites.get(&row.site_id).cloned(),
            torch: row.torch_id.and_then(|id| self.torches.get(&id).cloned()),
            kit: row.kit_id.and_then(|id| self.kits.get(&id).cloned()),
            group: Some(row.operator_group),
            arc_minutes: row.arc_seconds.map(|seconds| seconds / 60),
            grinds: row.grinds,
            weeks: row.weeks,
            start_time: row
                .start_minute
                .and_then(clock)
                .map(|time| time.format("%H:%M").to_string()),
            arc_minutes_per_day: row.arc_seconds_per_day.map(|seconds| seconds / 60),
            spread: (row.spread > 0.0).then_some(row.spread),
            target: Some(row.target),
            procedure: row.procedure,
            locked: row.locked,
            conditions: conditions(row.conditions.as_deref())
                .iter()
                .map(|one| one.as_str().to_owned())
                .collect(),
            left_out: self.left_out.get(&row.id).cloned().unwrap_or_default(),
        })
    }
}

async fn view(db: &impl ConnectionTrait, row: jobs::Model) -> Result<Job, Error> {
    let lost = || Error::Internal("a job was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
