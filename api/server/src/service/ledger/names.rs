//! The things that a set of entries names, looked up together: one query a kind of thing.

use std::collections::{BTreeSet, HashMap};

use domain::code::Code;
use domain::part::PartKind;
use sea_orm::ConnectionTrait;
use types::{COURSE_GROUP_DEFAULT, Circumstances, DEFAULT_SITE, NewUsage};

use super::remembered::Remembered;
use super::{Body, Request};
use crate::service::procedures::InForce;
use crate::service::{Error, site_rules};
use crate::store::entity::{courses, jobs, parts, set_ups, sites, torches};
use crate::store::{self};

/// What a set of entries names.
#[derive(Debug)]
pub(super) struct Names {
    sites: HashMap<String, sites::Model>,
    torches: HashMap<String, torches::Model>,
    jobs: HashMap<String, jobs::Model>,
    courses: HashMap<String, courses::Model>,
    parts: HashMap<String, parts::Model>,
    fitted_parts: HashMap<i64, parts::Model>,
    set_ups: HashMap<i64, Vec<set_ups::Model>>,
    fitted: HashMap<i64, Vec<i64>>,
    /// What jobs are done by, by their ids.
    done_by: HashMap<i64, InForce>,
    /// Electrodes by diameter, where one of the set is barred at its site.
    instead: HashMap<i64, Vec<parts::Model>>,
}

/// A torch with the set-up that it had at an instant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Torch<'n> {
    /// The torch.
    pub(super) row: &'n torches::Model,
    /// The set-up, if it ever had one.
    pub(super) set_up: Option<i64>,
    /// The ids of the parts fitted, rear to tip.
    pub(super) fitted: &'n [i64],
}

pub(super) fn key(code: &str) -> String {
    code.trim().to_ascii_lowercase()
}

impl Request {
    pub(super) fn circumstances(&self) -> Option<Circumstances<'_>> {
        match &self.body {
            Body::Usage(usage, _) => Some(usage.circumstances()),
            Body::Movement(movement, _) => Some(movement.circumstances()),
            Body::Receipt(receipt) => Some(receipt.circumstances()),
            Body::Count(count) => Some(count.circumstances()),
            Body::Transfer(transfer) => Some(transfer.circumstances()),
            Body::Stubs(stubs, ..) => Some(stubs.circumstances()),
            Body::Allocation(new) => Some(new.circumstances()),
            Body::Reversal(_) => None,
        }
    }

    /// The sites that must be looked up: the one that is named, or the first where neither a site
    /// nor a torch is; and where a transfer goes.
    fn sites(&self) -> impl Iterator<Item = &str> {
        let named = self.circumstances().and_then(|told| told.site);
        let placed = self.torch().is_some() || self.circumstances().is_none();
        let to = if let Body::Transfer(transfer) = &self.body {
            Some(&*transfer.to)
        } else {
            None
        };
        let from = named.or((!placed).then_some(DEFAULT_SITE));
        from.into_iter().chain(to)
    }

    pub(super) fn at_micros(&self) -> i64 {
        let told = self.circumstances().and_then(|told| told.at);
        let at = told.map_or(self.received_at, |at| at.to_utc());
        at.timestamp_micros()
    }

    pub(super) fn torch(&self) -> Option<&str> {
        match &self.body {
            Body::Usage(usage, _) => usage.torch.as_deref(),
            Body::Movement(..)
            | Body::Receipt(_)
            | Body::Count(_)
            | Body::Allocation(_)
            | Body::Transfer(_)
            | Body::Stubs(..)
            | Body::Reversal(_) => None,
        }
    }

    fn course(&self) -> Option<&str> {
        if let Body::Usage(usage, _) = &self.body {
            usage.course.as_deref()
        } else {
            None
        }
    }

    pub(super) fn part(&self) -> Option<&str> {
        match &self.body {
            Body::Usage(usage, _) => usage.part.as_deref(),
            Body::Movement(movement, _) => Some(&movement.part),
            Body::Receipt(receipt) => Some(&receipt.part),
            Body::Count(count) => Some(&count.part),
            Body::Allocation(new) => Some(&new.part),
            Body::Transfer(transfer) => Some(&transfer.part),
            Body::Stubs(..) | Body::Reversal(_) => None,
        }
    }
}

macro_rules! by_code {
    ($rows:expr) => {
        $rows
            .into_iter()
            .map(|row| (row.code_key.clone(), row))
            .collect::<HashMap<_, _>>()
    };
}

impl Names {
    /// Looks up everything that the set names.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        set: &[Request],
        remembered: &mut Remembered,
    ) -> Result<Self, Error> {
        let placed: Vec<&str> = set.iter().filter_map(Request::torch).collect();
        let placed = remembered.torches(db, &placed).await?;
        let sites: Vec<&str> = set.iter().flat_map(Request::sites).collect();
        let sites = remembered.sites(db, &sites).await?;
        let jobs = set
            .iter()
            .filter_map(|request| request.circumstances()?.job);
        let jobs = store::jobs::find_many(db, jobs).await?;
        let courses = set.iter().filter_map(Request::course);
        let courses = store::courses::find_many(db, courses).await?;
        let parts: Vec<&str> = set.iter().filter_map(Request::part).collect();
        let parts = remembered.parts(db, &parts).await?;
        let their_sites = placed.iter().map(|placed| placed.site.clone());
        let mut names = Self {
            sites: by_code!(sites.into_iter().chain(their_sites)),
            torches: by_code!(placed.iter().map(|placed| placed.torch.clone())),
            jobs: by_code!(jobs),
            courses: by_code!(courses),
            parts: by_code!(parts),
            fitted_parts: HashMap::new(),
            set_ups: HashMap::new(),
            fitted: HashMap::new(),
            done_by: HashMap::new(),
            instead: HashMap::new(),
        };
        for placed in placed {
            names.set_ups.insert(placed.torch.id, placed.set_ups);
        }
        let worn = set.iter().filter_map(|request| {
            let torch = names.torches.get(&key(request.torch()?))?;
            names.set_up(torch.id, request.at_micros())
        });
        let worn: BTreeSet<i64> = worn.collect();
        for (set_up, part) in remembered.fitted(db, &worn).await? {
            names.fitted.entry(set_up).or_default().push(part.id);
            names.fitted_parts.insert(part.id, part);
        }
        names.load_procedures(db, set).await?;
        names.load_instead(db, set).await?;
        Ok(names)
    }

    /// Looks up what the jobs are done by, with the signatures that hold when the set is received.
    async fn load_procedures(
        &mut self,
        db: &impl ConnectionTrait,
        set: &[Request],
    ) -> Result<(), Error> {
        let now = set.iter().map(|request| request.received_at).max();
        let now = now.map_or(0, |now| now.timestamp_micros());
        let bound = self
            .jobs
            .values()
            .filter_map(|job| Some((job.id, job.procedure_revision_id?)));
        let bound: Vec<(i64, i64)> = bound.collect();
        let rows = bound.iter().map(|(_, revision)| *revision);
        let rows = store::procedure_revisions::get_many(db, rows).await?;
        let in_force = InForce::load(db, rows, now).await?;
        for (job, revision) in bound {
            if let Some(found) = in_force.get(&revision) {
                self.done_by.insert(job, found.clone());
            }
        }
        Ok(())
    }

    /// What a job is done by, if that procedure is entered here.
    pub(super) fn done_by(&self, job: Option<&str>) -> Option<(&jobs::Model, &InForce)> {
        let job = self.job_row(job?)?;
        Some((job, self.done_by.get(&job.id)?))
    }

    /// A plan for a job with a part that its procedure does not permit is refused.
    ///
    /// # Errors
    /// [`Error::Invalid`] at `/part`, with the reason and the way out.
    pub(super) fn check_permitted(
        &self,
        job: Option<&str>,
        part: &parts::Model,
        way_out: &str,
    ) -> Result<(), Error> {
        match self.done_by(job) {
            Some((job, in_force)) => in_force.check_plan((&job.code, part), "/part", way_out),
            None => Ok(()),
        }
    }

    /// Looks up what could be used instead of barred electrodes that came in.
    async fn load_instead(
        &mut self,
        db: &impl ConnectionTrait,
        set: &[Request],
    ) -> Result<(), Error> {
        let barred = set.iter().filter_map(|request| {
            let Body::Receipt(receipt) = &request.body else {
                return None;
            };
            let site = self.site(receipt.site.as_deref(), None).ok()?;
            let part = self.parts.get(&key(&receipt.part))?;
            let permitted = site_rules::of_part(site, part).is_permitted();
            part.diameter_um.filter(|_| !permitted)
        });
        let diameters: BTreeSet<i64> = barred.collect();
        for part in store::parts::electrodes(db, diameters).await? {
            let diameter = part.diameter_um.unwrap_or_default();
            self.instead.entry(diameter).or_default().push(part);
        }
        Ok(())
    }

    /// The electrodes that could be used instead of a barred one at that site, by code.
    pub(super) fn instead(
        &self,
        part: &parts::Model,
        site: &sites::Model,
    ) -> impl Iterator<Item = &parts::Model> {
        let same = part.diameter_um.and_then(|um| self.instead.get(&um));
        let same = same.into_iter().flatten();
        same.filter(|other| site_rules::of_part(site, other).is_permitted())
    }

    /// The set-up that a torch had at an instant: the newest that was not yet to come, or its first
    /// for what happened before it was set up here.
    fn set_up(&self, torch: i64, at_micros: i64) -> Option<i64> {
        let set_ups = self.set_ups.get(&torch)?;
        let newest = set_ups.iter().rfind(|set_up| set_up.fitted_at <= at_micros);
        newest.or(set_ups.first()).map(|set_up| set_up.id)
    }

    /// The part of that code.
    pub(super) fn part(&self, code: &str) -> Result<&parts::Model, Error> {
        self.parts.get(&key(code)).ok_or_else(|| {
            let why = match Code::parse("part", code) {
                Ok(code) => {
                    format!("there is no part {code}; set it up first, or see the list of parts")
                }
                Err(error) => error.to_string(),
            };
            Error::invalid("/part", why)
        })
    }

    /// The part of that code, or the one of that kind that the torch has fitted.
    pub(super) fn part_or_fitted(
        &self,
        word: &str,
        torch: Option<Torch<'_>>,
    ) -> Result<&parts::Model, Error> {
        if let Some(part) = self.parts.get(&key(word)) {
            return Ok(part);
        }
        let (Ok(kind), Some(torch)) = (PartKind::parse(word), torch) else {
            return self.part(word);
        };
        self.fitted(torch, kind).ok_or_else(|| {
            let why = format!(
                "{} has no {} fitted; give the code of the part",
                torch.row.code,
                kind.noun()
            );
            Error::invalid("/part", why)
        })
    }

    /// The part of that kind that the torch has fitted.
    pub(super) fn fitted(&self, torch: Torch<'_>, kind: PartKind) -> Option<&parts::Model> {
        let mut fitted = torch
            .fitted
            .iter()
            .filter_map(|id| self.fitted_parts.get(id));
        fitted.find(|part| part.kind == kind.as_str())
    }

    /// The id of the torch of that code, if there is one.
    pub(super) fn torch_id(&self, code: &str) -> Option<i64> {
        self.torches.get(&key(code)).map(|torch| torch.id)
    }

    /// The torch of that code, with what it had fitted at an instant.
    pub(super) fn torch(&self, code: &str, at_micros: i64) -> Result<Torch<'_>, Error> {
        let row = self.torches.get(&key(code)).ok_or_else(|| {
            Error::invalid(
                "/torch",
                format!("there is no torch {code}; see the list of torches"),
            )
        })?;
        let set_up = self.set_up(row.id, at_micros);
        let fitted = set_up
            .and_then(|id| self.fitted.get(&id))
            .map_or(&[][..], Vec::as_slice);
        Ok(Torch {
            row,
            set_up,
            fitted,
        })
    }

    /// The site that is named, else that of the torch, else the first.
    pub(super) fn site(
        &self,
        code: Option<&str>,
        torch: Option<&torches::Model>,
    ) -> Result<&sites::Model, Error> {
        let site = match (code, torch) {
            (None, Some(torch)) => self.sites.values().find(|site| site.id == torch.site_id),
            (code, _) => self.sites.get(&key(code.unwrap_or(DEFAULT_SITE))),
        };
        site.ok_or_else(|| {
            let code = code.unwrap_or(DEFAULT_SITE);
            Error::invalid(
                "/site",
                format!("there is no site {code}; see the list of sites"),
            )
        })
    }

    /// The site of that code, in the field that `pointer` names.
    pub(super) fn named_site(&self, pointer: &str, code: &str) -> Result<&sites::Model, Error> {
        self.sites.get(&key(code)).ok_or_else(|| {
            let why = format!("there is no site {code}; see the list of sites");
            Error::invalid(pointer, why)
        })
    }

    /// The jobs that the set names.
    pub(super) fn jobs(&self) -> impl Iterator<Item = i64> + '_ {
        self.jobs.values().map(|job| job.id)
    }

    /// The job of that code.
    pub(super) fn job_row(&self, code: &str) -> Option<&jobs::Model> {
        self.jobs.get(&key(code))
    }

    /// Where a job is done.
    pub(super) fn site_of_job(&self, id: i64) -> i64 {
        let job = self.jobs.values().find(|job| job.id == id);
        job.map_or(0, |job| job.site_id)
    }

    /// The group of the students, where a use is of a course.
    pub(super) fn group_of_course(&self, usage: &NewUsage) -> Result<Option<String>, Error> {
        let course = usage.course.as_deref();
        self.course(course)?;
        let known = course.and_then(|code| self.courses.get(&key(code)));
        let taught = usage.student_days.map(|_| COURSE_GROUP_DEFAULT.to_owned());
        Ok(known.map(|course| course.operator_group.clone()).or(taught))
    }

    /// The id of the course that is named.
    pub(super) fn course(&self, code: Option<&str>) -> Result<Option<i64>, Error> {
        let Some(code) = code else { return Ok(None) };
        let course = self.courses.get(&key(code)).ok_or_else(|| {
            Error::invalid(
                "/course",
                format!("there is no course {code}; set it up first, or leave it out"),
            )
        })?;
        Ok(Some(course.id))
    }

    /// The id of the job that is named.
    pub(super) fn job(&self, code: Option<&str>) -> Result<Option<i64>, Error> {
        let Some(code) = code else { return Ok(None) };
        let job = self.jobs.get(&key(code)).ok_or_else(|| {
            Error::invalid(
                "/job",
                format!("there is no job {code}; plan it first, or leave it out"),
            )
        })?;
        Ok(Some(job.id))
    }

    /// Every part and site that the set may touch.
    pub(super) fn keys(&self) -> impl Iterator<Item = (i64, i64)> + '_ {
        let parts = self
            .parts
            .values()
            .chain(self.fitted_parts.values())
            .chain(self.instead.values().flatten())
            .map(|part| part.id);
        parts.flat_map(|part| self.sites.values().map(move |site| (part, site.id)))
    }
}
