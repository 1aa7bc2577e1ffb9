//! Everything for the next job or course of a site: what it needs, whether its kit is complete, and the order
//! that mends it. What is needed is weighed in `needs`, the kit in `kit_checks`.

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use sea_orm::ConnectionTrait;
use types::{GetNeeds, KitCheck, Needs};

use super::{Context, Error, codes, courses, instant, jobs, kit_checks, needs};
use crate::store;
use crate::store::entity::{jobs as job_rows, sites};

/// A piece of work that is not closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// Its code.
    pub code: String,
    /// Its first day.
    pub start: NaiveDate,
    is_course: bool,
}

/// The next piece of work, with all that there is to say of it.
#[derive(Clone, Debug)]
pub struct Next {
    /// Which it is.
    pub work: Work,
    /// What it needs, or why that cannot be told.
    pub needs: Result<Box<Needs>, String>,
    /// Its kit, where it has one and a torch.
    pub kit: Option<Box<KitCheck>>,
}

/// The work of a site.
#[derive(Clone, Debug)]
pub struct NextWork {
    /// The site.
    pub site: String,
    /// The zone of the site.
    pub zone: Tz,
    /// When this was read.
    pub as_of: DateTime<Utc>,
    /// The piece that is asked for, else the next to begin, else the one that began last; none without any.
    pub next: Option<Next>,
    /// All of the work that is not closed, by its first day.
    pub all: Vec<Work>,
}

/// The next work of a site, or the piece of work with that code.
///
/// # Errors
/// There is no such site or work, or a failure of the store.
pub async fn get(
    context: &Context,
    (site, code): (Option<&str>, Option<&str>),
) -> Result<NextWork, Error> {
    let (db, now) = (context.store.read(), context.clock.now());
    let site = codes::site_or_first(db, "?site", site).await?;
    let zone = instant::site_zone(&site.zone);
    let today = now.with_timezone(&zone).date_naive();
    let all = open(db, &site).await?;
    let chosen = match code {
        Some(code) => Some(named(&all, code)?),
        None => all.iter().find(|it| it.start >= today).or(all.last()),
    };
    let next = match chosen {
        Some(work) => Some(everything(context, work.clone()).await?),
        None => None,
    };
    Ok(NextWork {
        site: site.code,
        zone,
        as_of: now,
        next,
        all,
    })
}

fn named<'w>(all: &'w [Work], code: &str) -> Result<&'w Work, Error> {
    let found = all
        .iter()
        .find(|it| codes::key(&it.code) == codes::key(code));
    found.ok_or_else(|| Error::NotFound {
        kind: "open job or course",
        key: code.to_owned(),
    })
}

/// The work of a site that is not closed, by its first day.
async fn open(db: &impl ConnectionTrait, site: &sites::Model) -> Result<Vec<Work>, Error> {
    let mut all = Vec::new();
    for job in store::work::open_jobs(db, site.id).await? {
        all.push(Work {
            start: jobs::start(&job)?,
            code: job.code,
            is_course: false,
        });
    }
    for course in store::work::open_courses(db, site.id).await? {
        all.push(Work {
            start: courses::day(&course.starts, &course.code)?,
            code: course.code,
            is_course: true,
        });
    }
    all.sort_by(|a, b| (a.start, &a.code).cmp(&(b.start, &b.code)));
    Ok(all)
}

async fn everything(context: &Context, work: Work) -> Result<Next, Error> {
    let query = GetNeeds::default();
    let told = if work.is_course {
        let told = needs::get_course(context, &work.code, &query).await;
        told.map(|course| course.needs)
    } else {
        needs::get(context, &work.code, &query).await
    };
    let needs = match told {
        Ok(needs) => Ok(Box::new(needs)),
        Err(error @ (Error::Invalid(_) | Error::WrongState(_))) => Err(error.to_string()),
        Err(error) => return Err(error),
    };
    let kit = if work.is_course {
        None
    } else {
        let job = codes::job(context.store.read(), &work.code).await?;
        kit(context, &job).await?
    };
    Ok(Next {
        work,
        needs,
        kit: kit.map(Box::new),
    })
}

async fn kit(context: &Context, job: &job_rows::Model) -> Result<Option<KitCheck>, Error> {
    let db = context.store.read();
    let kit = store::kits::get_many(db, job.kit_id).await?.pop();
    let torch = store::torches::get_many(db, job.torch_id).await?.pop();
    match kit.zip(torch) {
        Some((kit, torch)) => Ok(Some(
            kit_checks::get(context, &torch.code, &kit.code).await?,
        )),
        None => Ok(None),
    }
}
