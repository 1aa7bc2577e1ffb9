//! What a job needs: will it run without a stop, and if not, which order fixes it, and by when?

use std::collections::BTreeSet;

use domain::exposure::{ArcTime, Grinds};
use domain::forecast::{Target, need};
use domain::job::{JobLine, chance, largest_gain};
use domain::part::PartSpec;
use domain::safety::{About, Moment, cautions_at};
use domain::wear::JobSize;
use sea_orm::ConnectionTrait;
use types::{CannotTell, GetNeeds, NeedLine, Needs, NextBest};

use super::forecasts::{rung, whole};
use super::known::{self, View};
use super::learned::{Learned, Records, Whose, is_worn};
use super::ledger::book;
use super::procedures::InForce;
use super::{Context, Error, codes, fits, jobs, parts, torches};
use crate::store;
use crate::store::entity::{jobs as job_rows, parts as part_rows};
use crate::store::movements::Promise;

mod buying;
mod instead;
mod procedure;
mod words;

use buying::{Bought, Market, OnOrder};
use procedure::{Instead, Under, held_because};

/// The chances at the ends of the range of what is left.
const RANGE: (f64, f64) = (0.05, 0.95);

/// One part of a job, weighed.
struct Weighed {
    part: part_rows::Model,
    name: String,
    learned: Learned,
    need: i64,
    available: i64,
    held_because: Option<String>,
    on_order: OnOrder,
    short: i64,
    bought: Option<Bought>,
    alternative: Option<Bought>,
}

impl Weighed {
    /// There when the job starts, if the order is placed now: what comes too late does not count.
    fn after(&self) -> i64 {
        let bought = self.bought.as_ref().filter(|bought| bought.in_time);
        self.available + self.on_order.in_time + bought.map_or(0, |bought| bought.pieces)
    }

    fn line(&self, available: i64) -> JobLine {
        JobLine {
            predictive: self.learned.uses,
            available,
        }
    }
}

/// What a job needs.
pub async fn get(context: &Context, code: &str, query: &GetNeeds) -> Result<Needs, Error> {
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::planned(past, query.now.as_deref(), context.clock.now())?;
    of_job(context.store.read(), code, view).await
}

/// What a job needs, as the given connection sees it.
pub(super) async fn of_job(
    db: &impl ConnectionTrait,
    code: &str,
    view: View,
) -> Result<Needs, Error> {
    let job = codes::job(db, code).await?;
    let site = store::sites::get_many(db, [job.site_id]).await?.pop();
    let site = site.ok_or_else(|| Error::Internal("a job lost its site".to_owned()))?;
    let (parts, left_out) = parts_of(db, &job, view).await?;
    let cautions = cautions_of(&job, parts.iter().chain(&left_out))?;
    let left_out: Vec<String> = left_out.into_iter().map(|part| part.code).collect();
    let market = Market::load(db, &parts, (&site, view, jobs::start(&job)?)).await?;
    let whose = Whose {
        site: site.id,
        group: &job.operator_group,
        view,
    };
    let records = Records::load(db, &parts, whose).await?;
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let levels = known::levels(db, view, (site.id, &ids)).await?;
    let promises = store::movements::promises_by(db, job.id, view.facts()).await?;
    let size = size(&job)?;
    let target = Target::new(job.target).map_err(|error| Error::Internal(error.to_string()))?;
    let in_force = InForce::of_job(db, &job, view.at.timestamp_micros()).await?;
    let mut weighed = Vec::with_capacity(parts.len());
    let mut cannot_tell = Vec::new();
    for part in parts {
        let book = levels.get(&part.id).copied().unwrap_or_default();
        let mut level = book::level(&book, &part, &site);
        // What this job was promised is there for it, and for no other.
        level.allocated -= promised(&promises, (part.id, site.id));
        match records.learn(&part, &size)? {
            Ok(learned) => {
                let because = held_because(&part, &site, in_force.as_ref())?;
                weighed.push(weigh((part, because), learned, level, (&market, target))?);
            }
            Err(none) => cannot_tell.push(CannotTell {
                part: part.code,
                why: none.to_string(),
            }),
        }
    }
    let parts = (&weighed[..], cannot_tell, left_out);
    let mut needs = answer(&job, parts, &market, (view, cautions))?;
    if let Some(in_force) = &in_force {
        let under = Under {
            job: &job,
            site: &site,
            in_force,
            view,
        };
        let instead = procedure::instead(db, &under, &weighed).await?;
        tell(&mut needs, (in_force, &instead), &weighed, &market)?;
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
    needs.says = words::says(needs);
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
    parts: impl Iterator<Item = &'p part_rows::Model>,
) -> Result<Vec<String>, Error> {
    let specs: Vec<PartSpec> = parts.map(parts::spec).collect::<Result<_, _>>()?;
    let about = About::parts(&specs).under(jobs::conditions(job.conditions.as_deref()));
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
            "job {} cannot be weighed: {why}",
            job.code
        )));
    }
    Ok((counted, left_out))
}

fn promised(promises: &[Promise], (part, site): (i64, i64)) -> i64 {
    let own = promises
        .iter()
        .find(|row| (row.part_id, row.site_id) == (part, site));
    own.map_or(0, |row| row.quantity)
}

fn size(job: &job_rows::Model) -> Result<JobSize, Error> {
    let fault = |error: domain::exposure::ExposureError| Error::Internal(error.to_string());
    Ok(JobSize {
        arc: job
            .arc_seconds
            .map(ArcTime::from_seconds)
            .transpose()
            .map_err(fault)?,
        grinds: job.grinds.map(Grinds::new).transpose().map_err(fault)?,
        weeks: job.weeks,
        ..JobSize::default()
    })
}

fn weigh(
    (part, held_because): (part_rows::Model, Option<String>),
    learned: Learned,
    level: domain::ledger::Level,
    (market, target): (&Market, Target),
) -> Result<Weighed, Error> {
    let need = whole(need(&learned.uses, target));
    let permitted = held_because.is_none();
    // What is barred is held when it comes, and is never bought.
    let on_order = if permitted {
        market.on_order(part.id)
    } else {
        OnOrder::default()
    };
    let available = if permitted { level.usable() } else { 0 };
    let short = (need - available - on_order.in_time).max(0);
    let (mut bought, mut alternative) = if permitted {
        market.buy(part.id, short)
    } else {
        (None, None)
    };
    let in_time = bought.as_ref().is_some_and(|bought| bought.in_time);
    if !in_time && on_order.late >= short {
        // Enough is on its way, if too late; more of the same would come no sooner.
        (bought, alternative) = (None, None);
    }
    let name = parts::spec(&part)?.describe();
    Ok(Weighed {
        part,
        name,
        learned,
        need,
        available,
        held_because,
        on_order,
        short,
        bought,
        alternative,
    })
}

fn answer(
    job: &job_rows::Model,
    (weighed, cannot_tell, left_out): (&[Weighed], Vec<CannotTell>, Vec<String>),
    market: &Market,
    (view, cautions): (View, Vec<String>),
) -> Result<Needs, Error> {
    let lines_now: Vec<JobLine> = weighed
        .iter()
        .map(|part| part.line(part.available))
        .collect();
    let lines_after: Vec<JobLine> = weighed.iter().map(|part| part.line(part.after())).collect();
    let (chance_now, chance_after) = (chance(&lines_now), chance(&lines_after));
    let next_best = next_best(weighed);
    let orders = market.orders(weighed);
    let (cost_minor, currency) = buying::total(&orders);
    let mut needs = Needs {
        job: job.code.clone(),
        as_of: view.at,
        start: jobs::start(job)?,
        target: job.target,
        chance_now,
        chance_after,
        target_met: chance_after >= job.target && cannot_tell.is_empty(),
        lines: weighed.iter().map(line).collect(),
        orders,
        cost_minor,
        currency,
        next_best,
        cannot_tell,
        left_out,
        procedure: None,
        lent: Vec::new(),
        says: Vec::new(),
        assumes: Vec::new(),
        cautions,
    };
    needs.says = words::says(&needs);
    needs.assumes = view.says().into_iter().collect();
    needs.assumes.extend(words::assumes(&needs));
    Ok(needs)
}

/// Which one more piece would help most, of the parts that may be bought.
fn next_best(weighed: &[Weighed]) -> Option<NextBest> {
    let (may, may_not): (Vec<&Weighed>, Vec<&Weighed>) =
        weighed.iter().partition(|part| part.held_because.is_none());
    let lines = |parts: &[&Weighed]| -> Vec<JobLine> {
        parts.iter().map(|part| part.line(part.after())).collect()
    };
    let gain = largest_gain(&lines(&may))?;
    Some(NextBest {
        part: may[gain.index].part.code.clone(),
        chance: gain.chance * chance(&lines(&may_not)),
    })
}

fn line(part: &Weighed) -> NeedLine {
    let (available, after) = (part.available, part.after());
    let left = |chance: f64| (after - whole(part.learned.uses.quantile(chance))).max(0);
    NeedLine {
        part: part.part.code.clone(),
        name: part.name.clone(),
        expected: part.learned.uses.mean(),
        need: part.need,
        available,
        held_because: part.held_because.clone(),
        on_order: part.on_order.in_time + part.on_order.late,
        on_order_late: part.on_order.late,
        late_arrives: part.on_order.late_arrives,
        short: part.short,
        order: part.bought.as_ref().map(Bought::told),
        after,
        chance_now: part.line(available).chance(),
        chance_after: part.line(after).chance(),
        left_low: left(RANGE.1),
        left_high: left(RANGE.0),
        rung: rung(&part.learned),
        own_share: part.learned.own_share(),
        why: words::why(part),
    }
}
