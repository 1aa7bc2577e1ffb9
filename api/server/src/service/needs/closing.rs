//! The end of a piece of work: what it really used is logged as far as it is not yet, by the group that
//! did it, and held against what was to be expected when it began. The sentences are in `closing/words`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset, Utc};
use domain::exposure::{ArcTime, Grinds};
use domain::ledger::MovementKind;
use domain::wear::JobSize;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use serde::Deserialize;
use types::{Closing, ClosingLine, NewAllocation, NewClosing, NewCount, NewUsage, What, WorkSize};
use uuid::Uuid;

use super::course::Planned;
use super::job;
use super::work::{Kind, Work};
use crate::service::forecasts::whole;
use crate::service::keys::Caller;
use crate::service::known::View;
use crate::service::learned::{Records, Whose};
use crate::service::ledger::{self, Answer, Body, Request};
use crate::service::replies::Asked;
use crate::service::warnings::acted;
use crate::service::{Context, Error, codes, instant, parts};
use crate::store;
use crate::store::entity::{jobs as job_rows, parts as part_rows};
use crate::store::past::Facts;
use crate::store::work::{Of, Worked};

mod measures;
mod words;

use measures::rest;

/// Closes a job or a course.
pub async fn close(
    context: &Context,
    (caller, key): (Caller, &str),
    (kind, code): (Kind, &str),
    new: NewClosing,
) -> Result<Answer, Error> {
    new.check()?;
    ledger::check_idempotency_key(key)?;
    let now = context.clock.now();
    let asked = Asked {
        caller,
        key: key.to_owned(),
        hash: ledger::hash(("closing", &(kind.noun(), code, &new)))?,
        now: now.timestamp_micros(),
    };
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let ended = Ended::load(tx, (kind, &code)).await?;
            measures::check(&new, ended.of)?;
            let at = ended.end(&new, now)?;
            let told = Told {
                new,
                caller,
                now,
                at,
            };
            let recorded = ended.log(tx, &told).await?;
            store::work::close(tx, ended.of, Some(at.timestamp_micros())).await?;
            acted::note(tx, ended.of, (format!("{code} was closed."), now)).await?;
            let mut closing = ended.told(tx, at.to_utc()).await?;
            closing.recorded = recorded;
            asked.answer(tx, 201, &closing).await
        })
    });
    write.await
}

/// How a job or a course ended.
pub async fn get(context: &Context, (kind, code): (Kind, &str)) -> Result<Closing, Error> {
    let db = context.store.read();
    let ended = Ended::load(db, (kind, code)).await?;
    let Some(at) = ended.closed_at else {
        let noun = kind.noun();
        return Err(Error::WrongState(format!(
            "{noun} {} is not closed; close it first",
            ended.work.code
        )));
    };
    ended.told(db, instant::from_micros(at)).await
}

/// Opens a job or a course again. What its closing logged stays, and can be taken back.
pub async fn reopen(context: &Context, (kind, code): (Kind, &str)) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let ended = Ended::load(tx, (kind, &code)).await?;
            if ended.closed_at.is_none() {
                let noun = kind.noun();
                return Err(Error::WrongState(format!("{noun} {code} is not closed")));
            }
            store::work::close(tx, ended.of, None).await?;
            Ok(())
        })
    });
    write.await
}

/// What was told of the end.
struct Told {
    new: NewClosing,
    caller: Caller,
    now: DateTime<Utc>,
    at: DateTime<FixedOffset>,
}

/// A piece of work that ends.
struct Ended {
    work: Work,
    of: Of,
    torch: Option<String>,
    closed_at: Option<i64>,
}

impl Ended {
    async fn load(db: &impl ConnectionTrait, (kind, code): (Kind, &str)) -> Result<Self, Error> {
        let (work, of, torch, closed_at) = match kind {
            Kind::Job => {
                let row = codes::job(db, code).await?;
                // Only what work is like is asked here, not what is there for it.
                let view = View::present(DateTime::UNIX_EPOCH);
                let torch = torch_of(db, &row).await?;
                let work = job::work(db, &row, view).await?;
                (work, Of::Job(row.id), torch, row.closed_at)
            }
            Kind::Course => {
                let row = codes::course(db, code).await?;
                let planned = Planned::load(db, code).await?;
                (planned.work, Of::Course(row.id), None, planned.closed_at)
            }
        };
        Ok(Self {
            work,
            of,
            torch,
            closed_at,
        })
    }

    /// When it ended: as told, else now; not in the time to come.
    fn end(&self, new: &NewClosing, now: DateTime<Utc>) -> Result<DateTime<FixedOffset>, Error> {
        let zone = instant::site_zone(&self.work.site.zone);
        self.work.check_open(self.closed_at)?;
        let at = new
            .at
            .unwrap_or_else(|| now.with_timezone(&zone).fixed_offset());
        if at.to_utc() > now {
            let why = format!(
                "\"{}\" is still to come; close it when it is done",
                at.to_rfc3339()
            );
            return Err(Error::invalid("/at", why));
        }
        Ok(at)
    }

    /// Logs what is not logged yet, and frees what was promised.
    async fn log(&self, tx: &DatabaseTransaction, told: &Told) -> Result<Vec<Uuid>, Error> {
        let codes: Vec<&str> = told
            .new
            .used
            .iter()
            .map(|line| line.part.as_str())
            .collect();
        let named = codes::named_parts(tx, &codes, |index| format!("/used/{index}/part")).await?;
        let used = self.used(tx).await?;
        let mut more = Vec::new();
        for (index, (line, part)) in told.new.used.iter().zip(&named).enumerate() {
            let logged = used.get(&part.id).copied().unwrap_or(0);
            let pointer = format!("/used/{index}/quantity");
            more.push((part, rest(&pointer, line.quantity, (logged, "pieces"))?));
        }
        let mut bodies = match self.of {
            Of::Job(_) => self.job_bodies(tx, told, &more).await?,
            Of::Course(_) => self.course_bodies(tx, told, &more).await?,
        };
        bodies.extend(told.new.counts.iter().map(|line| {
            Body::Count(NewCount {
                part: line.part.clone(),
                counted: line.counted,
                at: Some(told.at),
                site: Some(self.work.site.code.clone()),
                by: told.new.by.clone(),
                ..NewCount::default()
            })
        }));
        bodies.extend(self.freed(tx).await?);
        record(tx, told, bodies).await
    }

    /// An entry of use with nothing but its circumstances.
    fn entry(&self, told: &Told) -> NewUsage {
        let code = Some(self.work.code.clone());
        let (job, course) = match self.of {
            Of::Job(_) => (code, None),
            Of::Course(_) => (None, code),
        };
        NewUsage {
            at: Some(told.at),
            site: Some(self.work.site.code.clone()),
            group: Some(self.work.group.clone()),
            job,
            course,
            by: told.new.by.clone(),
            ..NewUsage::default()
        }
    }

    async fn job_bodies(
        &self,
        tx: &DatabaseTransaction,
        told: &Told,
        more: &[(&part_rows::Model, i64)],
    ) -> Result<Vec<Body>, Error> {
        let worked = store::work::worked(tx, self.of, Facts::All).await?;
        let left = |pointer: &str, all: Option<i64>, logged: (i64, &str)| {
            all.map_or(Ok(0), |all| rest(pointer, all, logged))
        };
        let arc = (worked.arc_seconds / 60, "minutes");
        let arc = left("/arc_minutes", told.new.arc_minutes, arc)?;
        let grinds = left("/grinds", told.new.grinds, (worked.grinds, "grinds"))?;
        let mut bodies = Vec::new();
        if arc > 0 || grinds > 0 {
            let Some(torch) = &self.torch else {
                let why = "the job names no torch, so nobody knows what was worn; log the arc time and the \
                           grinds at their torches with the job, and leave them out here";
                return Err(Error::invalid("/arc_minutes", why));
            };
            let usage = NewUsage {
                torch: Some(torch.clone()),
                arc_minutes: (arc > 0).then_some(arc),
                grinds: (grinds > 0).then_some(grinds),
                ..self.entry(told)
            };
            bodies.push(Body::Usage(Box::new(usage), None));
        }
        for (part, quantity) in more.iter().filter(|(_, quantity)| *quantity > 0) {
            let usage = NewUsage {
                what: Some(What::Took.as_str().to_owned()),
                part: Some(part.code.clone()),
                qty: Some(*quantity),
                ..self.entry(told)
            };
            bodies.push(Body::Usage(Box::new(usage), Some(What::Took)));
        }
        Ok(bodies)
    }

    /// Each part of a course was exposed to all its student-days, used or not.
    async fn course_bodies(
        &self,
        tx: &DatabaseTransaction,
        told: &Told,
        more: &[(&part_rows::Model, i64)],
    ) -> Result<Vec<Body>, Error> {
        let planned = self.work.size.student_days.map(i64::from);
        let all = told.new.student_days.or(planned).unwrap_or(0);
        let taught = store::work::student_days(tx, self.of).await?;
        let more: BTreeMap<&str, i64> = more
            .iter()
            .map(|(part, quantity)| (part.code.as_str(), *quantity))
            .collect();
        let counted = self
            .work
            .parts
            .iter()
            .map(|part| (part.code.as_str(), part.id));
        let mut bodies = Vec::new();
        let mut seen = BTreeSet::new();
        for (code, id) in counted {
            seen.insert(code);
            let logged = taught.get(&id).copied().unwrap_or(0);
            let days = rest("/student_days", all, (logged, "student-days"))?;
            let broke = more.get(code).copied().unwrap_or(0);
            bodies.extend(self.course_entry(told, code, (days, broke)));
        }
        for (code, broke) in more.into_iter().filter(|(code, _)| !seen.contains(code)) {
            bodies.extend(self.course_entry(told, code, (0, broke)));
        }
        Ok(bodies)
    }

    fn course_entry(&self, told: &Told, part: &str, (days, broke): (i64, i64)) -> Option<Body> {
        if days == 0 && broke == 0 {
            return None;
        }
        let what = (broke > 0).then_some(What::Broke);
        let usage = NewUsage {
            what: what.map(|what| what.as_str().to_owned()),
            part: Some(part.to_owned()),
            qty: (broke > 0).then_some(broke),
            student_days: (days > 0).then_some(days),
            ..self.entry(told)
        };
        Some(Body::Usage(Box::new(usage), what))
    }

    /// What a job was promised and did not take is there for others again.
    async fn freed(&self, tx: &DatabaseTransaction) -> Result<Vec<Body>, Error> {
        let Of::Job(job) = self.of else {
            return Ok(Vec::new());
        };
        let promises = store::movements::promises(tx, [job]).await?;
        let parts = store::parts::get_many(tx, promises.iter().map(|row| row.part_id)).await?;
        let sites = store::sites::get_many(tx, promises.iter().map(|row| row.site_id)).await?;
        let open = promises.iter().filter(|row| row.quantity > 0);
        let freed = open.filter_map(|row| {
            let part = parts.iter().find(|part| part.id == row.part_id)?;
            let site = sites.iter().find(|site| site.id == row.site_id)?;
            Some(Body::Allocation(NewAllocation {
                part: part.code.clone(),
                job: self.work.code.clone(),
                site: Some(site.code.clone()),
                quantity: 0,
                by: None,
                note: None,
            }))
        });
        Ok(freed.collect())
    }

    /// What it used of each part, by what is on record.
    async fn used(&self, db: &impl ConnectionTrait) -> Result<BTreeMap<i64, i64>, Error> {
        let mut used = BTreeMap::new();
        for row in store::work::used(db, self.of).await? {
            let kind = MovementKind::parse(&row.kind)
                .map_err(|error| Error::Internal(error.to_string()))?;
            *used.entry(row.part_id).or_default() += kind.wear_events(row.quantity);
        }
        Ok(used)
    }

    /// How it ended, beside what was to be expected by what is on record from before it began.
    async fn told(&self, db: &impl ConnectionTrait, at: DateTime<Utc>) -> Result<Closing, Error> {
        let zone = instant::site_zone(&self.work.site.zone);
        let planned = instant::start_of_day(self.work.start, zone);
        // Work may begin before it was to, or be over by then; its own use is no forecast of itself.
        let first = store::work::first(db, self.of).await?;
        let before = |micros: i64| instant::from_micros(micros.saturating_sub(1));
        let began = first.map_or(planned.min(at), |first| planned.min(before(first)));
        let worked = store::work::worked(db, self.of, Facts::All).await?;
        let taught = store::work::student_days(db, self.of).await?;
        let took = self.took(&worked, taught.values().copied().max())?;
        let used = self.used(db).await?;
        let counted: BTreeSet<i64> = self.work.parts.iter().map(|part| part.id).collect();
        let others = used.keys().copied().filter(|id| !counted.contains(id));
        let others = store::parts::get_many(db, others).await?;
        let all: Vec<part_rows::Model> = self.work.parts.iter().cloned().chain(others).collect();
        let whose = Whose {
            site: self.work.site.id,
            group: &self.work.group,
            view: View::happened_by(began),
        };
        let records = Records::load(db, &all, whose).await?;
        let mut lines = Vec::with_capacity(all.len());
        for part in &all {
            let used = used.get(&part.id).copied().unwrap_or(0);
            lines.push(self.line(part, used, (&records, &took))?);
        }
        let mut closing = Closing {
            code: self.work.code.clone(),
            kind: self.work.kind.noun().to_owned(),
            closed_at: at,
            group: self.work.group.clone(),
            planned: told_size(&self.work.size),
            took: told_size(&took),
            lines,
            says: Vec::new(),
            recorded: Vec::new(),
        };
        closing.says = words::says(&closing);
        Ok(closing)
    }

    fn line(
        &self,
        part: &part_rows::Model,
        used: i64,
        (records, took): (&Records, &JobSize),
    ) -> Result<ClosingLine, Error> {
        let learned = records.learn(part, &self.work.size)?.ok();
        let range = learned.as_ref().map(|learned| {
            let at = |chance: f64| whole(learned.uses.quantile(chance));
            (at(0.05), at(0.95))
        });
        let after = records.learn(part, took)?.ok();
        Ok(ClosingLine {
            part: part.code.clone(),
            name: parts::spec(part)?.describe(),
            used,
            expected: learned.as_ref().map(|learned| learned.uses.mean()),
            low: range.map(|(low, _)| low),
            high: range.map(|(_, high)| high),
            expected_for_what_it_took: after.map(|learned| learned.uses.mean()),
            within: range.is_none_or(|(low, high)| (low..=high).contains(&used)),
        })
    }

    /// The size it had, in the measures that it was planned in.
    fn took(&self, worked: &Worked, taught: Option<i64>) -> Result<JobSize, Error> {
        let fault = |error: domain::exposure::ExposureError| Error::Internal(error.to_string());
        let planned = &self.work.size;
        let arc = planned.arc.filter(|_| worked.arc_seconds > 0);
        let arc = arc.map(|_| ArcTime::from_seconds(worked.arc_seconds));
        let grinds = planned.grinds.filter(|_| worked.grinds > 0);
        let grinds = grinds.map(|_| Grinds::new(worked.grinds));
        let taught = taught.and_then(|days| u32::try_from(days).ok());
        Ok(JobSize {
            arc: arc.transpose().map_err(fault)?,
            grinds: grinds.transpose().map_err(fault)?,
            weeks: planned.weeks,
            student_days: planned.student_days.and(taught),
        })
    }
}

pub(super) fn told_size(size: &JobSize) -> WorkSize {
    WorkSize {
        arc_minutes: size.arc.map(|arc| arc.seconds() / 60),
        grinds: size.grinds.map(|grinds| i64::from(grinds.get())),
        weeks: size.weeks,
        student_days: size.student_days.map(i64::from),
    }
}

async fn torch_of(
    db: &impl ConnectionTrait,
    job: &job_rows::Model,
) -> Result<Option<String>, Error> {
    let torch = store::torches::get_many(db, job.torch_id).await?.pop();
    Ok(torch.map(|torch| torch.code))
}

/// Records entries; all of them or none.
async fn record(
    tx: &DatabaseTransaction,
    told: &Told,
    bodies: Vec<Body>,
) -> Result<Vec<Uuid>, Error> {
    /// Every answer names its entry.
    #[derive(Deserialize)]
    struct Named {
        entry: Uuid,
    }
    let requests = bodies.into_iter().map(|body| Request {
        caller: told.caller,
        // No other entry has such a key, and the closing itself is answered once.
        key: format!("closing-{}", Uuid::now_v7()),
        hash: String::new(),
        received_at: told.now,
        history: false,
        trusted: true,
        body,
    });
    let mut entries = Vec::new();
    for answer in ledger::record(tx, requests.collect()).await? {
        let named: Named = serde_json::from_str(&answer?.body)
            .map_err(|error| Error::Internal(error.to_string()))?;
        entries.push(named.entry);
    }
    Ok(entries)
}
