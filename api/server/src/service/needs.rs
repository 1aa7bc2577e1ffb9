//! What a job or a course needs: will it run without a stop, and if not, which order fixes it, and by
//! when? Both are weighed as one kind of work; what is only of one of them is in `job` and `course`.

use domain::forecast::need;
use domain::job::{JobLine, joint_chance};
use domain::part::Unit;
use domain::predictive::Mixture;
use domain::shared_factor::SharedFactor;
use sea_orm::ConnectionTrait;
use types::{CannotTell, EachAlone, GetNeeds, LastOrder, NeedLine, Needs, NextBest, PooledPart};

use super::forecasts::{rung, whole};
use super::known::{self, View};
use super::learned::{Learned, Records, Whose};
use super::ledger::book;
use super::{Context, Error, parts};
use crate::store::entity::parts as part_rows;
use crate::store::movements::Promise;

mod buying;
mod closing;
mod course;
mod course_words;
mod instead;
mod job;
mod late;
mod order_words;
mod pooled;
mod procedure;
mod stations;
mod under_way;
mod words;
mod work;

pub(super) use buying::Market;
use buying::{Bought, OnOrder, Proposal};
pub use closing::{close, get as get_closing, reopen};
pub use course::get as get_course;
pub(super) use course::of_course;
pub(super) use job::of_job;
use procedure::held_because;
pub use stations::get as get_stations;
pub(super) use words::money;
pub use work::Kind;
use work::Work;

/// The chances at the ends of the range of what is left.
const RANGE: (f64, f64) = (0.05, 0.95);

/// One part of a job, weighed.
struct Weighed {
    part: part_rows::Model,
    name: String,
    unit: Unit,
    learned: Learned,
    need: i64,
    available: i64,
    held_because: Option<String>,
    on_order: OnOrder,
    short: i64,
    /// What may be used in its place, and counts with it.
    pooled: Vec<PooledPart>,
    bought: Vec<Bought>,
    /// What another offer would cost, where it is bought of one.
    alternative: Option<Bought>,
}

impl Weighed {
    /// There when the job starts, if the order is placed now: what comes too late does not count.
    fn after(&self) -> i64 {
        self.available + self.on_order.in_time + buying::in_time(&self.bought)
    }

    /// There once all that is ordered is here, whenever that is.
    fn once_here(&self) -> i64 {
        let bought: i64 = self.bought.iter().map(|it| it.pieces).sum();
        self.available + self.on_order.in_time + self.on_order.late + bought
    }

    /// With so many of its own, and what counts with it.
    fn line(&self, available: i64) -> JobLine {
        let pooled: i64 = self.pooled.iter().map(|it| it.available).sum();
        JobLine {
            predictive: self.learned.uses,
            available: available.saturating_add(pooled),
        }
    }
}

/// What a job needs.
pub async fn get(context: &Context, code: &str, query: &GetNeeds) -> Result<Needs, Error> {
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::planned(past, query.now.as_deref(), context.clock.now())?;
    of_job(context.store.read(), code, view).await
}

/// What a piece of work needs, as the given connection sees it.
pub(super) async fn of_work(
    db: &impl ConnectionTrait,
    (kind, code): (Kind, &str),
    view: View,
) -> Result<Needs, Error> {
    match kind {
        Kind::Job => of_job(db, code, view).await,
        Kind::Course => Ok(of_course(db, code, view).await?.needs),
    }
}

/// The parts of a piece of work, each weighed, and who sells them.
struct Weighing {
    weighed: Vec<Weighed>,
    cannot_tell: Vec<CannotTell>,
    market: Market,
    proposal: Proposal,
}

impl Weighing {
    /// Decides what is bought.
    fn propose(&mut self, work: &Work) -> Result<(), Error> {
        self.proposal = self.market.propose(&mut self.weighed, work)?;
        Ok(())
    }
}

/// Weighs every part that counts, and decides what is bought.
async fn weigh_all(db: &impl ConnectionTrait, work: &Work, view: View) -> Result<Weighing, Error> {
    let mut weighing = weigh_parts(db, work, view).await?;
    weighing.propose(work)?;
    Ok(weighing)
}

/// Weighs every part that counts.
async fn weigh_parts(
    db: &impl ConnectionTrait,
    work: &Work,
    view: View,
) -> Result<Weighing, Error> {
    let Work { site, parts, .. } = work;
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let market = Market::load(db, &ids, (site, view, work.start)).await?;
    let whose = Whose {
        site: site.id,
        group: &work.group,
        view,
    };
    let records = Records::load(db, parts, whose).await?;
    let levels = known::levels(db, view, (site.id, &ids)).await?;
    let mut weighed = Vec::with_capacity(parts.len());
    let mut cannot_tell = Vec::new();
    for part in parts {
        let book = levels.get(&part.id).copied().unwrap_or_default();
        let mut level = book::level(&book, part, site);
        // What this job was promised is there for it, and for no other.
        level.allocated -= promised(&work.promises, (part.id, site.id));
        let learned = match work.paper(part, market.smallest_pack(part.id)) {
            Some(paper) => Ok(records.learn_amount(db, (part, &paper), whose).await?),
            None => records.learn(part, &work.size)?,
        };
        match learned {
            Ok(learned) => {
                let because = held_because(part, site, work.in_force.as_ref())?;
                let part = (part.clone(), because);
                weighed.push(weigh(part, learned, level, (&market, work))?);
            }
            Err(none) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why: none.to_string(),
            }),
        }
    }
    Ok(Weighing {
        weighed,
        cannot_tell,
        market,
        proposal: Proposal::default(),
    })
}

fn promised(promises: &[Promise], (part, site): (i64, i64)) -> i64 {
    let own = promises
        .iter()
        .find(|row| (row.part_id, row.site_id) == (part, site));
    own.map_or(0, |row| row.quantity)
}

fn weigh(
    (part, held_because): (part_rows::Model, Option<String>),
    learned: Learned,
    level: domain::ledger::Level,
    (market, work): (&Market, &Work),
) -> Result<Weighed, Error> {
    let uses = over(&learned, work.shared)?;
    let need = whole(uses.as_ref().map_or_else(
        || need(&learned.uses, work.target),
        |uses| uses.quantile(work.target.get()),
    ));
    let permitted = held_because.is_none();
    // What is barred is held when it comes, and is never bought.
    let on_order = if permitted {
        market.on_order(part.id)
    } else {
        OnOrder::default()
    };
    let available = if permitted { level.usable() } else { 0 };
    let short = (need - available - on_order.in_time).max(0);
    let spec = parts::spec(&part)?;
    let (name, unit) = (spec.describe(), spec.kind().unit());
    Ok(Weighed {
        part,
        name,
        unit,
        learned,
        need,
        available,
        held_because,
        on_order,
        short,
        pooled: Vec::new(),
        bought: Vec::new(),
        alternative: None,
    })
}

/// Use over the factor that all parts of the work share; none where there is none to speak of.
fn over(learned: &Learned, shared: SharedFactor) -> Result<Option<Mixture>, Error> {
    if shared.is_none() {
        return Ok(None);
    }
    let nodes = shared.nodes();
    let uses = nodes
        .iter()
        .map(|node| (node.weight, learned.uses.stretched(node.factor)));
    let mixture = Mixture::new(uses).map_err(|error| Error::Internal(error.to_string()))?;
    Ok(Some(mixture))
}

fn answer(work: &Work, weighing: &Weighing, view: View) -> Result<Needs, Error> {
    let Weighing {
        weighed,
        cannot_tell,
        market,
        proposal,
    } = weighing;
    let chance_over = |shared: SharedFactor, there: fn(&Weighed) -> i64| {
        let lines: Vec<JobLine> = weighed.iter().map(|part| part.line(there(part))).collect();
        joint_chance(&lines, shared)
    };
    let now = |shared| chance_over(shared, |part| part.available);
    let after = |shared| chance_over(shared, Weighed::after);
    let (chance_now, chance_after) = (now(work.shared), after(work.shared));
    let orders = market.orders(weighed);
    let (cost_minor, currency) = buying::total(&orders);
    let lines: Result<Vec<NeedLine>, Error> = weighed
        .iter()
        .map(|part| line(part, work, market))
        .collect();
    let mut needs = Needs {
        job: work.code.clone(),
        as_of: view.at,
        start: work.begins(),
        start_time: work.start_time.format("%H:%M").to_string(),
        target: work.target.get(),
        chance_now,
        chance_after,
        target_met: chance_after >= work.target.get() && cannot_tell.is_empty(),
        lines: lines?,
        orders,
        cost_minor,
        currency,
        each_alone: proposal.each.as_ref().map(|each| EachAlone {
            cost_minor: each.cost_minor,
            currency: each.currency.clone(),
            chance: each.chance,
        }),
        gap_minor: proposal.gap_minor,
        next_best: next_best(weighed, work.shared),
        next_purchase: proposal.next.clone(),
        under_way: work.under_way.as_ref().map(|done| {
            let is_bought = weighed.iter().any(|part| !part.bought.is_empty());
            let once_here = is_bought.then(|| chance_over(work.shared, Weighed::once_here));
            done.told(once_here)
        }),
        cannot_tell: cannot_tell.clone(),
        left_out: work.left_out.clone(),
        procedure: None,
        lent: Vec::new(),
        says: Vec::new(),
        assumes: Vec::new(),
        cautions: work.cautions.clone(),
    };
    needs.says = words::says(&needs, work.kind);
    needs.assumes = view.says().into_iter().collect();
    needs.assumes.extend(work.size_says.iter().cloned());
    let together =
        SharedFactor::new(words::CLUMSY).map_err(|error| Error::Internal(error.to_string()))?;
    let together = words::Together {
        work,
        spread: (now(together), after(together)),
    };
    needs.assumes.extend(words::assumes(&needs, &together));
    needs.assumes.extend(order_words::offers(&needs, proposal));
    needs.assumes.extend(pooled::assumes(weighed));
    Ok(needs)
}

/// Which one more piece would help most, of the parts that may be bought.
fn next_best(weighed: &[Weighed], shared: SharedFactor) -> Option<NextBest> {
    let lines: Vec<JobLine> = weighed.iter().map(|part| part.line(part.after())).collect();
    let now = joint_chance(&lines, shared);
    let mut best: Option<NextBest> = None;
    for (index, part) in weighed.iter().enumerate() {
        if part.held_because.is_some() {
            continue;
        }
        let mut more = lines.clone();
        more[index].available = more[index].available.saturating_add(1);
        let chance = joint_chance(&more, shared);
        if chance > best.as_ref().map_or(now, |best| best.chance) {
            best = Some(NextBest {
                part: part.part.code.clone(),
                chance,
            });
        }
    }
    best
}

/// Until when a part can be ordered that is short, or is to be bought; of work that is under way that is
/// past.
fn last_order(part: &Weighed, work: &Work, market: &Market) -> Option<LastOrder> {
    let is_short = part.short > 0 || !part.bought.is_empty();
    let is_wanted = is_short && work.under_way.is_none();
    let is_permitted = part.held_because.is_none();
    (is_wanted && is_permitted)
        .then(|| market.last_order(part.part.id))
        .flatten()
}

fn line(part: &Weighed, work: &Work, market: &Market) -> Result<NeedLine, Error> {
    let shared = work.shared;
    let (available, after) = (part.available, part.after());
    let uses = over(&part.learned, shared)?;
    let used = |chance: f64| match &uses {
        Some(uses) => uses.quantile(chance),
        None => part.learned.uses.quantile(chance),
    };
    let left = |chance: f64| (after - whole(used(chance))).max(0);
    Ok(NeedLine {
        part: part.part.code.clone(),
        name: part.name.clone(),
        unit: part.unit.as_str().to_owned(),
        expected: part.learned.uses.mean(),
        need: part.need,
        available,
        held_because: part.held_because.clone(),
        on_order: part.on_order.in_time + part.on_order.late,
        on_order_late: part.on_order.late,
        late_arrives: part.on_order.late_arrives,
        short: part.short,
        pooled: part.pooled.clone(),
        order: part.bought.first().map(Bought::told),
        more: part.bought.iter().skip(1).map(Bought::told).collect(),
        late: late::of(part, work, market)?,
        last_order: last_order(part, work, market),
        after,
        chance_now: part.line(available).chance_over(shared),
        chance_after: part.line(after).chance_over(shared),
        left_low: left(RANGE.1),
        left_high: left(RANGE.0),
        rung: rung(&part.learned),
        own_share: part.learned.own_share(),
        why: words::why(part),
    })
}
