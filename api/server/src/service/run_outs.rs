//! When a part ran out and why: what is on record of each run-out. How the blame is split is the domain's
//! `run_out_blame`; the words are in `words`.

use chrono::{DateTime, Days, NaiveDate, Utc};
use chrono_tz::Tz;
use domain::ledger::MovementKind;
use domain::run_out_blame::{
    Change, Evidence, RunOut, Step, blame, in_order, low_since, run_outs, used,
};
use sea_orm::ConnectionTrait;
use types::{GetRunOuts, LateOrder, PastRunOut, RunOutCause, RunOuts};

use super::ahead::{Options, PartAhead, REVIEW_DEFAULT, Reading};
use super::known::View;
use super::{Context, Error, codes, due, instant, parts};
use crate::store;
use crate::store::entity::{movements, parts as part_rows, sites};

mod words;

/// Since when unless told.
const SINCE_DEFAULT: &str = "26w";
/// So many run-outs are told.
const RUN_OUTS_MAX: usize = 20;

/// A part at a site, and everything that happened to its stock.
struct Part {
    row: part_rows::Model,
    site: sites::Model,
    zone: Tz,
    moved: Vec<movements::Model>,
    steps: Vec<Step>,
}

impl Part {
    fn day(&self, at: DateTime<Utc>) -> NaiveDate {
        at.with_timezone(&self.zone).date_naive()
    }

    /// What was to come at an instant, by what is known now of the time before; or why that cannot be told.
    async fn ahead(
        &self,
        db: &impl ConnectionTrait,
        at: DateTime<Utc>,
    ) -> Result<Result<PartAhead, String>, Error> {
        let rows = std::slice::from_ref(&self.row);
        let reading = Reading::load(db, rows, &self.site, View::happened_by(at)).await?;
        reading.part(&self.row, &Options::default())
    }

    /// The order point at an instant, by what is known now of the days before; none where it cannot be
    /// told.
    async fn order_point(
        &self,
        db: &impl ConnectionTrait,
        at: DateTime<Utc>,
    ) -> Result<Option<i64>, Error> {
        match self.ahead(db, at).await? {
            Ok(ahead) => ahead.order_point(),
            Err(_) => Ok(None),
        }
    }
}

/// When a part ran out, and why.
pub async fn list(context: &Context, code: &str, query: &GetRunOuts) -> Result<RunOuts, Error> {
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let db = context.store.read();
    let row = codes::part(db, code).await?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let zone = instant::site_zone(&site.zone);
    let since = query.since.as_deref().unwrap_or(SINCE_DEFAULT);
    let from = instant::since(since, (at, zone))?;
    let mut moved = store::movements::of_part(db, (row.id, site.id)).await?;
    moved.retain(|row| row.happened_at <= at.timestamp_micros());
    let steps = steps(db, (row.id, site.id), &moved, at).await?;
    let part = Part {
        row,
        site,
        zone,
        moved,
        steps,
    };
    let found = run_outs(&part.steps);
    let mut found: Vec<&RunOut> = found
        .iter()
        .filter(|it| it.until.is_none_or(|until| until >= from))
        .rev()
        .collect();
    let more = found.len().saturating_sub(RUN_OUTS_MAX);
    found.truncate(RUN_OUTS_MAX);
    let mut told = Vec::with_capacity(found.len());
    for run_out in found {
        told.push(explain(db, &part, run_out).await?);
    }
    let says = words::says(&part.row.code, &told, more);
    Ok(RunOuts {
        part: part.row.code.clone(),
        name: parts::spec(&part.row)?.describe(),
        site: part.site.code.clone(),
        from,
        as_of: at,
        run_outs: told,
        more: i64::try_from(more).unwrap_or(i64::MAX),
        says,
        assumes: words::assumes(),
    })
}

/// What happened to the stock of a part, in order.
async fn steps(
    db: &impl ConnectionTrait,
    key: (i64, i64),
    moved: &[movements::Model],
    at: DateTime<Utc>,
) -> Result<Vec<Step>, Error> {
    let mut steps = Vec::with_capacity(moved.len());
    for row in moved {
        let kind =
            MovementKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let change = match (kind, kind.wear_events(row.quantity)) {
            (MovementKind::UnloggedUse, pieces) => Change::Unlogged(pieces),
            (_, 0) => Change::Moved(kind.on_hand_sign() * row.quantity),
            (_, pieces) => Change::Used(pieces),
        };
        steps.push(Step {
            at: instant::from_micros(row.happened_at),
            change,
        });
    }
    for row in store::counts::standing(db, key).await? {
        let step = Step {
            at: instant::from_micros(row.happened_at),
            change: Change::Counted(row.counted),
        };
        steps.extend((step.at <= at).then_some(step));
    }
    Ok(in_order(steps))
}

/// What is on record of a run-out, and how the blame is split.
async fn explain(
    db: &impl ConnectionTrait,
    part: &Part,
    run_out: &RunOut,
) -> Result<PastRunOut, Error> {
    let rose_at = run_out.rose_at.unwrap_or(run_out.from);
    let order_point = match part.order_point(db, rose_at).await? {
        // Too little was on record then: the day before the run-out knew more.
        None => part.order_point(db, run_out.from).await?,
        point => point,
    };
    let low_at = order_point.map_or(rose_at, |point| low_since(&part.steps, run_out, point));
    let (first, last) = (part.day(low_at), part.day(run_out.from));
    let days = (last - first).num_days() + 1;
    let then = part.ahead(db, low_at).await?.ok();
    let expected = match &then {
        Some(ahead) => {
            let uses = ahead.over(u32::try_from(days).unwrap_or(u32::MAX))?;
            Some(uses.mean())
        }
        None => None,
    };
    let (logged, unlogged) = used(&part.steps, (low_at, run_out.from));
    let orders = orders(db, part, run_out).await?;
    let mut told = PastRunOut {
        from: run_out.from,
        until: run_out.until,
        found: run_out.found.as_str().to_owned(),
        book: run_out.book,
        order_point,
        low_since: low_at,
        days,
        logged,
        expected,
        unlogged,
        not_ordered: not_ordered(db, part, (then.as_ref(), &orders), (low_at, run_out.from))
            .await?,
        late: orders.late,
        unexplained: run_out.unexplained(&part.steps),
        causes: Vec::new(),
        says: String::new(),
    };
    let causes = blame(&Evidence {
        logged,
        expected,
        unlogged,
        late: told.late.iter().map(|order| order.pieces).sum(),
        not_ordered: told.not_ordered,
        unexplained: told.unexplained,
    });
    let causes = causes.into_iter().map(|it| RunOutCause {
        cause: it.cause.as_str().to_owned(),
        pieces: it.pieces,
        share: it.share,
        says: words::cause(it.cause, &told, part),
    });
    told.causes = causes.collect();
    told.says = words::run_out(&told, part);
    Ok(told)
}

/// What of a part was on order when it ran out.
struct OnOrder {
    /// Orders that were due before.
    late: Vec<LateOrder>,
    /// Pieces of those that were not.
    to_come: i64,
}

async fn orders(
    db: &impl ConnectionTrait,
    part: &Part,
    run_out: &RunOut,
) -> Result<OnOrder, Error> {
    let view = View::happened_by(run_out.from);
    let last = part.day(run_out.from);
    let mut found = OnOrder {
        late: Vec::new(),
        to_come: 0,
    };
    for it in due::expected(db, (view, part.zone), part.site.id).await? {
        let own = it.to_come().filter(|(id, _)| *id == part.row.id);
        let pieces: i64 = own.map(|(_, pieces)| pieces).sum();
        if pieces == 0 {
            continue;
        }
        if it.due >= last {
            found.to_come += pieces;
            continue;
        }
        let of_order = part.moved.iter().filter(|row| {
            let at = instant::from_micros(row.happened_at);
            row.order_id == Some(it.order.id) && row.quantity > 0 && at > run_out.from
        });
        let came = of_order.map(|row| row.happened_at).min();
        found.late.push(LateOrder {
            order: it.order.id,
            supplier: it.supplier.code.clone(),
            pieces,
            due: it.due,
            came: came.map(|at| part.day(instant::from_micros(at))),
        });
    }
    Ok(found)
}

/// What an order would have brought that was not placed in time: one that is placed within a week of the
/// day on which stock fell to its order point is.
async fn not_ordered(
    db: &impl ConnectionTrait,
    part: &Part,
    (then, orders): (Option<&PartAhead>, &OnOrder),
    (low_at, from): (DateTime<Utc>, DateTime<Utc>),
) -> Result<i64, Error> {
    let Some(lead) = then.and_then(PartAhead::lead) else {
        return Ok(0);
    };
    let review = Days::new(u64::try_from(REVIEW_DEFAULT).unwrap_or_default());
    let would_be_there = lead.arrives.checked_add_days(review);
    let is_late = would_be_there.is_none_or(|day| day >= part.day(from));
    let came = part.moved.iter().any(|row| {
        let at = instant::from_micros(row.happened_at);
        row.order_id.is_some() && row.quantity > 0 && (low_at..=from).contains(&at)
    });
    // Nothing could have been there, or something was ordered in time.
    if is_late || came || !orders.late.is_empty() {
        return Ok(0);
    }
    if orders.to_come > 0 {
        return Ok(orders.to_come);
    }
    let offers = store::offers::of_parts(db, [part.row.id]).await?;
    Ok(offers.iter().map(|it| it.pack_size).min().unwrap_or(0))
}
