//! What is watched without anybody having set it: the parts that can stop work at a site, and its jobs
//! and courses to come.

use std::collections::{BTreeSet, HashMap};

use chrono::NaiveDate;
use sea_orm::ConnectionTrait;

use super::Subject;
use crate::service::{Error, courses, jobs, torches};
use crate::store;
use crate::store::entity::sites;

/// The jobs and courses of a site that begin today or later and are not closed.
pub(super) async fn work(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    today: NaiveDate,
) -> Result<Vec<Subject>, Error> {
    let mut work = Vec::new();
    for job in store::work::open_jobs(db, site.id).await? {
        let start = jobs::start(&job)?;
        if start >= today {
            work.push(Subject::Job(job.id, job.code, start));
        }
    }
    for course in store::work::open_courses(db, site.id).await? {
        let start = courses::day(&course.starts, &course.code)?;
        if start >= today {
            work.push(Subject::Course(course.id, course.code, start));
        }
    }
    Ok(work)
}

/// The parts that can stop work at a site: what is fitted in its torches, and what kits need. A part that
/// was never counted nor received there is not known of, and is not among them.
pub(super) async fn parts(
    db: &impl ConnectionTrait,
    site: &sites::Model,
) -> Result<BTreeSet<i64>, Error> {
    let mut parts: BTreeSet<i64> = torches_by_part(db, site.id).await?.into_keys().collect();
    parts.extend(
        store::kits::all_lines(db)
            .await?
            .iter()
            .map(|line| line.part_id),
    );
    let known = store::levels::all(db).await?;
    let known: BTreeSet<i64> = known
        .iter()
        .filter(|level| level.site_id == site.id)
        .map(|level| level.part_id)
        .collect();
    parts.retain(|part| known.contains(part));
    Ok(parts)
}

/// The codes of the torches of a site in which each part is fitted.
pub(super) async fn torches_by_part(
    db: &impl ConnectionTrait,
    site: i64,
) -> Result<HashMap<i64, Vec<String>>, Error> {
    let rows = store::torches::at_site(db, site).await?;
    let ids: Vec<i64> = rows.iter().map(|torch| torch.id).collect();
    let fitted = torches::fitted_at(db, &ids, None).await?;
    let mut by_part: HashMap<i64, Vec<String>> = HashMap::new();
    for torch in &rows {
        for part in fitted.get(&torch.id).into_iter().flatten() {
            by_part.entry(*part).or_default().push(torch.code.clone());
        }
    }
    Ok(by_part)
}
