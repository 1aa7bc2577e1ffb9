//! A piece of work whose parts are weighed, whether a job or a course: what it is, and which parts of
//! it count.

use std::collections::{BTreeSet, HashMap};

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use domain::exposure::ArcTime;
use domain::forecast::Target;
use domain::shared_factor::SharedFactor;
use domain::wear::JobSize;
use sea_orm::ConnectionTrait;

use super::under_way::Done;
use crate::service::known::View;
use crate::service::learned::{Paper, grain_of, is_worn};
use crate::service::procedures::InForce;
use crate::service::{Error, codes, instant, parts};
use crate::store;
use crate::store::entity::{parts as part_rows, sites};
use crate::store::movements::Promise;
use crate::store::work::Of;

/// What kind of work it is, as far as the words differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A job.
    Job,
    /// A course.
    Course,
}

impl Kind {
    /// The chance of what, as a sentence begins.
    pub(super) fn chance_of(self, is_under_way: bool) -> &'static str {
        match self {
            Self::Job if is_under_way => "Chance the rest of this job runs without a stop",
            Self::Job => "Chance this job runs without a stop",
            Self::Course => "Chance nobody stops for a part",
        }
    }

    /// The piece of work of that code.
    ///
    /// # Errors
    /// [`Error::NotFound`] if there is none.
    pub(in crate::service) async fn find(
        self,
        db: &impl ConnectionTrait,
        code: &str,
    ) -> Result<Of, Error> {
        Ok(match self {
            Self::Job => Of::Job(codes::job(db, code).await?.id),
            Self::Course => Of::Course(codes::course(db, code).await?.id),
        })
    }

    /// What it is, in one word.
    pub(in crate::service) fn noun(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Course => "course",
        }
    }
}

/// A piece of work.
pub(super) struct Work {
    pub(super) kind: Kind,
    pub(super) code: String,
    pub(super) site: sites::Model,
    pub(super) group: String,
    /// The first day.
    pub(super) start: NaiveDate,
    /// The local time on it.
    pub(super) start_time: NaiveTime,
    /// Arc time a working day, if it is told.
    pub(super) arc_per_day: Option<ArcTime>,
    pub(super) target: Target,
    pub(super) size: JobSize,
    /// What all its parts share.
    pub(super) shared: SharedFactor,
    /// The parts that count.
    pub(super) parts: Vec<part_rows::Model>,
    /// Codes of those that do not.
    pub(super) left_out: Vec<String>,
    pub(super) promises: Vec<Promise>,
    pub(super) in_force: Option<InForce>,
    pub(super) cautions: Vec<String>,
    /// Gas and filler, by part; their parts are among those that count.
    pub(super) papers: HashMap<i64, Planned>,
    /// What is to be said of how its size came about.
    pub(super) size_says: Vec<String>,
    /// How far it is, if it has begun: its start is then the day from which it is planned, and its
    /// size what is to come.
    pub(super) under_way: Option<Done>,
}

/// A use of gas or filler as the paper of a job has it.
pub(super) struct Planned {
    /// In millilitres or grams.
    pub(super) amount: i64,
    /// How it came about, in words.
    pub(super) from: String,
}

impl Work {
    /// The day it begins, or has begun.
    pub(super) fn begins(&self) -> NaiveDate {
        self.under_way
            .as_ref()
            .map_or(self.start, |done| done.began)
    }

    /// The local time it is planned from, if it has begun by then.
    pub(super) fn begun(&self, view: View) -> Option<NaiveDateTime> {
        let zone = instant::site_zone(&self.site.zone);
        let now = view.at.with_timezone(&zone).naive_local();
        (now >= self.start.and_time(self.start_time)).then_some(now)
    }

    /// A course is planned before it starts: what it uses is logged when it is over.
    pub(super) fn check_start(&self, view: View) -> Result<(), Error> {
        let start = self.start.and_time(self.start_time);
        let Some(now) = self.begun(view) else {
            return Ok(());
        };
        let (code, noun) = (&self.code, self.kind.noun());
        let (start, now) = (
            start.format("%a %-d %b %Y %H:%M"),
            now.format("%a %-d %b %Y %H:%M"),
        );
        Err(Error::WrongState(format!(
            "{noun} {code} started {start}, and it is planned from {now}: move its start, or ask as of an \
             instant before it"
        )))
    }

    /// The paper of a part, if it is gas or filler of the work; drawn a pack at a time.
    pub(super) fn paper(&self, part: &part_rows::Model, pack: Option<i64>) -> Option<Paper> {
        let Planned { amount, from } = self.papers.get(&part.id)?;
        Some(Paper {
            planned: *amount,
            arc: self.size.arc?,
            from: from.clone(),
            grain: pack.unwrap_or_else(|| grain_of(&part.kind)),
        })
    }
}

impl Work {
    /// What is done is not planned.
    ///
    /// # Errors
    /// [`Error::WrongState`] with the day on which it was closed.
    pub(super) fn check_open(&self, closed_at: Option<i64>) -> Result<(), Error> {
        let Some(at) = closed_at else { return Ok(()) };
        let zone = instant::site_zone(&self.site.zone);
        let day = instant::from_micros(at).with_timezone(&zone);
        let (noun, code) = (self.kind.noun(), &self.code);
        Err(Error::WrongState(format!(
            "{noun} {code} was closed on {}; reopen it first",
            day.format("%-d %b %Y")
        )))
    }
}

/// The parts of those ids that count towards the chance, in that order, and those that do not:
/// what is left out, and what does not wear in a torch.
pub(super) async fn counted(
    db: &impl ConnectionTrait,
    ids: &[i64],
    out: &BTreeSet<i64>,
    what: &str,
) -> Result<(Vec<part_rows::Model>, Vec<part_rows::Model>), Error> {
    let mut rows =
        store::parts::get_many(db, ids.iter().copied().chain(out.iter().copied())).await?;
    rows.sort_by_key(|row| {
        ids.iter()
            .position(|id| *id == row.id)
            .unwrap_or(usize::MAX)
    });
    let mut counted = Vec::new();
    let mut left_out = Vec::new();
    for row in rows {
        if out.contains(&row.id) || !is_worn(&parts::spec(&row)?) {
            left_out.push(row);
        } else {
            counted.push(row);
        }
    }
    if counted.is_empty() {
        let why = "no part of it counts: fit a set-up in its torch, or give it a kit, and leave out fewer parts";
        return Err(Error::WrongState(format!(
            "{what} cannot be weighed: {why}"
        )));
    }
    Ok((counted, left_out))
}
