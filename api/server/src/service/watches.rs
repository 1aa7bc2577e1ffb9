//! Watches: what is watched at a site, by what was set and by what can stop work. Looking is in `looks`.

use std::collections::{BTreeSet, HashMap};

use chrono::NaiveDate;
use domain::watch::{Filter, Limit};
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{ListWatches, NewWatch, Page, TARGET_DEFAULT, Watch, WatchPage};
use uuid::Uuid;

use super::{Context, Error, codes, courses, jobs};
use crate::store;
use crate::store::entity::{kits, parts, sites, torches, watches};

mod defaults;
mod view;

use view::{note, told};

/// How often the stock is looked at unless told, in days.
const REVIEW_DEFAULT: u32 = 7;
/// Where a warning is told unless told otherwise, beside the page.
pub const CHANNELS_DEFAULT: [&str; 3] = ["page", "mail", "webhook"];

/// What a watch is on.
#[derive(Clone, Debug)]
pub enum Subject {
    /// Parts whose stock and use are taken together: one, or all that a filter takes.
    Parts(Option<Filter>, Vec<parts::Model>),
    /// A kit.
    Kit(kits::Model),
    /// A job: its id, its code and its first day.
    Job(i64, String, NaiveDate),
    /// A course: the same.
    Course(i64, String, NaiveDate),
    /// How fast a torch uses electrodes.
    Torch(torches::Model),
}

/// A watch that holds at a site.
#[derive(Clone, Debug)]
pub struct Watched {
    /// The row; none for one that is there by itself.
    pub row: Option<watches::Model>,
    /// What it is on.
    pub subject: Subject,
    /// From what on it is low.
    pub limit: Limit,
    /// Minutes of arc time in a normal week, where they are stated.
    pub week_minutes: Option<i64>,
    /// The chance of having enough that the order point goes by.
    pub target: f64,
    /// How often the stock is looked at, in days.
    pub review_days: u32,
    /// Where it is told; `page` is first.
    pub channels: Vec<String>,
}

impl Watched {
    fn by_itself(subject: Subject) -> Self {
        Self {
            row: None,
            subject,
            limit: Limit::OrderPoint,
            week_minutes: None,
            target: TARGET_DEFAULT,
            review_days: REVIEW_DEFAULT,
            channels: CHANNELS_DEFAULT.map(str::to_owned).to_vec(),
        }
    }

    /// Whether nothing is to be heard of it.
    pub fn is_off(&self) -> bool {
        self.row.as_ref().is_some_and(|row| row.is_off)
    }

    /// What it is on, as it is unique at a site.
    pub fn key(&self) -> String {
        match &self.subject {
            Subject::Parts(Some(filter), _) => format!("filter:{filter}"),
            Subject::Parts(None, parts) => format!("part:{}", id_of(parts)),
            Subject::Kit(kit) => format!("kit:{}", kit.id),
            Subject::Job(id, ..) => format!("job:{id}"),
            Subject::Course(id, ..) => format!("course:{id}"),
            Subject::Torch(torch) => format!("torch:{}", torch.id),
        }
    }
}

impl std::fmt::Display for Subject {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&view::subject(self))
    }
}

fn review(row: &watches::Model) -> u32 {
    let told = row.review_days.and_then(|days| u32::try_from(days).ok());
    told.unwrap_or(REVIEW_DEFAULT)
}

fn id_of(parts: &[parts::Model]) -> i64 {
    parts.first().map_or(0, |part| part.id)
}

/// The watches that hold at a site: those that were set, then those that are there by themselves.
pub async fn of_site(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    today: NaiveDate,
) -> Result<Vec<Watched>, Error> {
    let rows = store::watches::at_site(db, site.id).await?;
    let all = store::parts::all(db).await?;
    let kits = store::kits::get_many(db, rows.iter().filter_map(|row| row.kit_id)).await?;
    let work = defaults::work(db, site, today).await?;
    let torches = store::torches::at_site(db, site.id).await?;
    let mut watched = Vec::with_capacity(rows.len());
    for row in rows {
        let Some(subject) = subject(&row, (&all, &kits, &work, &torches))? else {
            continue;
        };
        watched.push(Watched {
            limit: Limit::parse(&row.low_at).map_err(fault)?,
            week_minutes: row.week_minutes,
            target: row.target.unwrap_or(TARGET_DEFAULT),
            review_days: review(&row),
            channels: channels(&row.channels),
            subject,
            row: Some(row),
        });
    }
    let set: BTreeSet<String> = watched.iter().map(Watched::key).collect();
    let can_stop_work = defaults::parts(db, site).await?;
    let parts = all
        .into_iter()
        .filter(|part| can_stop_work.contains(&part.id))
        .map(|part| Subject::Parts(None, vec![part]));
    let by_themselves = parts.chain(work).map(Watched::by_itself);
    watched.extend(by_themselves.filter(|it| !set.contains(&it.key())));
    Ok(watched)
}

/// What a row is on; nothing where that is over.
fn subject(
    row: &watches::Model,
    (parts, kits, work, torches): (
        &[parts::Model],
        &[kits::Model],
        &[Subject],
        &[torches::Model],
    ),
) -> Result<Option<Subject>, Error> {
    if let Some(text) = &row.filter {
        let filter = Filter::parse(text).map_err(fault)?;
        let mut these = Vec::new();
        for part in parts {
            if filter.matches(&super::parts::spec(part)?) {
                these.push(part.clone());
            }
        }
        return Ok(Some(Subject::Parts(Some(filter), these)));
    }
    if let Some(id) = row.part_id {
        let part = parts.iter().find(|part| part.id == id);
        return Ok(part.map(|part| Subject::Parts(None, vec![part.clone()])));
    }
    if let Some(id) = row.kit_id {
        return Ok(kits
            .iter()
            .find(|kit| kit.id == id)
            .cloned()
            .map(Subject::Kit));
    }
    if let Some(id) = row.torch_id {
        let torch = torches.iter().find(|torch| torch.id == id);
        return Ok(torch.cloned().map(Subject::Torch));
    }
    let is_it = |it: &&Subject| match it {
        Subject::Job(id, ..) => row.job_id == Some(*id),
        Subject::Course(id, ..) => row.course_id == Some(*id),
        Subject::Parts(..) | Subject::Kit(_) | Subject::Torch(_) => false,
    };
    Ok(work.iter().find(is_it).cloned())
}

/// The channels as they are kept; the page tells everything.
fn channels(kept: &str) -> Vec<String> {
    let others = kept.split(',').filter(|it| !it.is_empty() && *it != "page");
    std::iter::once("page")
        .chain(others)
        .map(str::to_owned)
        .collect()
}

/// A page of the watches that hold at a site.
pub async fn list(context: &Context, query: &ListWatches) -> Result<WatchPage, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let page = Page {
        limit: query.limit,
        after: None,
    };
    let limit = usize::try_from(page.limit()).unwrap_or(usize::MAX);
    let zone = super::instant::site_zone(&site.zone);
    let today = context.clock.now().with_timezone(&zone).date_naive();
    let mut watched = of_site(db, &site, today).await?;
    watched.sort_by_key(Watched::key);
    let after = query.after.as_deref().unwrap_or_default();
    watched.retain(|it| it.key().as_str() > after);
    let next = (watched.len() > limit).then(|| watched[limit - 1].key());
    watched.truncate(limit);
    let watches = watched.iter().map(|it| told(it, &site.code));
    Ok(WatchPage {
        watches: watches.collect(),
        next,
    })
}

/// One watch.
pub async fn get(context: &Context, id: &str) -> Result<Watch, Error> {
    let db = context.store.read();
    view(db, find(db, id).await?).await
}

/// Sets a watch.
pub async fn create(context: &Context, new: NewWatch) -> Result<Watch, Error> {
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = row(tx, &new).await?;
            let subject = row.subject.clone().take().unwrap_or_default();
            let made = store::watches::insert(tx, row).await;
            view(tx, made.map_err(codes::taken("watch", &subject))?).await
        })
    });
    write.await
}

/// Replaces a watch.
pub async fn replace(
    context: &Context,
    id: &str,
    seen: i64,
    new: NewWatch,
) -> Result<Watch, Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("watch", &id, old.version, seen)?;
            let row = watches::ActiveModel {
                id: NotSet,
                ..row(tx, &new).await?
            };
            let subject = row.subject.clone().take().unwrap_or_default();
            store::watches::update(tx, (old.id, old.version), row)
                .await
                .map_err(codes::taken("watch", &subject))?;
            view(tx, find(tx, &id).await?).await
        })
    });
    write.await
}

/// Removes a watch; a part that can stop work is watched by itself again.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("watch", &id, old.version, seen)?;
            Ok(store::watches::delete(tx, old.id).await?)
        })
    });
    write.await
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<watches::Model, Error> {
    let missing = || Error::NotFound {
        kind: "watch",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    let found = store::watches::find(db, uuid).await?;
    found.ok_or_else(missing)
}

async fn row(db: &impl ConnectionTrait, new: &NewWatch) -> Result<watches::ActiveModel, Error> {
    let checked = new.check()?;
    let site = codes::site_or_first(db, "/site", new.site.as_deref()).await?;
    let mut row = watches::ActiveModel {
        id: Set(Uuid::now_v7()),
        site_id: Set(site.id),
        kind: Set(String::new()),
        subject: Set(String::new()),
        part_id: Set(None),
        kit_id: Set(None),
        job_id: Set(None),
        course_id: Set(None),
        torch_id: Set(None),
        filter: Set(checked.filter.as_ref().map(ToString::to_string)),
        low_at: Set(checked.limit.to_string()),
        week_minutes: Set(new.week_minutes),
        target: Set(new.target),
        review_days: Set(new.review_days),
        channels: Set(channels(&kept_channels(&new.channels)).join(",")),
        is_off: Set(new.off),
        off_because: Set(new.off_because.clone()),
        version: Set(1),
    };
    let (kind, key) = if let Some(filter) = &checked.filter {
        ("filter", filter.to_string())
    } else if let Some(code) = &new.part {
        let id = codes::named_part(db, "/part", code).await?.id;
        row.part_id = Set(Some(id));
        ("part", id.to_string())
    } else if let Some(code) = &new.kit {
        let id = codes::named_kit(db, "/kit", code).await?.id;
        row.kit_id = Set(Some(id));
        ("kit", id.to_string())
    } else if let Some(code) = &new.job {
        let id = codes::named_job(db, "/job", code).await?.id;
        row.job_id = Set(Some(id));
        ("job", id.to_string())
    } else if let Some(code) = &new.torch {
        let id = torch_of(db, (&site, code)).await?;
        row.torch_id = Set(Some(id));
        ("torch", id.to_string())
    } else {
        let code = new.course.as_deref().unwrap_or_default();
        let id = codes::named_course(db, "/course", code).await?.id;
        row.course_id = Set(Some(id));
        ("course", id.to_string())
    };
    row.kind = Set(kind.to_owned());
    row.subject = Set(format!("{kind}:{key}"));
    Ok(row)
}

/// The torch of that code, which must be at the site.
async fn torch_of(
    db: &impl ConnectionTrait,
    (site, code): (&sites::Model, &str),
) -> Result<i64, Error> {
    let torch = codes::named_torch(db, "/torch", code).await?;
    if torch.site_id == site.id {
        return Ok(torch.id);
    }
    let why = format!(
        "{} is not at {}; give the site at which it is",
        torch.code, site.code
    );
    Err(Error::invalid("/torch", why))
}

fn kept_channels(told: &[String]) -> String {
    if told.is_empty() {
        return CHANNELS_DEFAULT.join(",");
    }
    types::CHANNELS
        .iter()
        .filter(|channel| told.iter().any(|it| it == *channel))
        .copied()
        .collect::<Vec<_>>()
        .join(",")
}

/// A row as it is told, with what it is on by its code.
async fn view(db: &impl ConnectionTrait, row: watches::Model) -> Result<Watch, Error> {
    let site = store::sites::get_many(db, [row.site_id]).await?.pop();
    let site = site.ok_or_else(|| Error::Internal("a watch lost its site".to_owned()))?;
    let all = store::parts::all(db).await?;
    let kits = store::kits::get_many(db, row.kit_id).await?;
    let mut work = Vec::new();
    for job in store::jobs::get_many(db, row.job_id).await? {
        work.push(Subject::Job(job.id, job.code.clone(), jobs::start(&job)?));
    }
    for course in store::courses::get_many(db, row.course_id).await? {
        let starts = courses::day(&course.starts, &course.code)?;
        work.push(Subject::Course(course.id, course.code, starts));
    }
    let torches = store::torches::get_many(db, row.torch_id).await?;
    let subject = subject(&row, (&all, &kits, &work, &torches))?;
    let subject = subject.ok_or_else(|| Error::Internal("a watch lost its subject".to_owned()))?;
    let notes = note(&subject, &all)?;
    let watched = Watched {
        limit: Limit::parse(&row.low_at).map_err(fault)?,
        week_minutes: row.week_minutes,
        target: row.target.unwrap_or(TARGET_DEFAULT),
        review_days: review(&row),
        channels: channels(&row.channels),
        subject,
        row: Some(row),
    };
    let mut told = told(&watched, &site.code);
    told.notes = notes;
    Ok(told)
}

fn fault(error: impl std::fmt::Display) -> Error {
    Error::Internal(error.to_string())
}

/// The codes of the torches of a site in which each part is fitted.
pub async fn torches_by_part(
    db: &impl ConnectionTrait,
    site: i64,
) -> Result<HashMap<i64, Vec<String>>, Error> {
    defaults::torches_by_part(db, site).await
}

/// The parts whose watch is off at a site.
pub async fn off_parts(db: &impl ConnectionTrait, site: i64) -> Result<BTreeSet<i64>, Error> {
    let rows = store::watches::at_site(db, site).await?;
    let off = rows.into_iter().filter(|row| row.is_off);
    Ok(off.filter_map(|row| row.part_id).collect())
}
