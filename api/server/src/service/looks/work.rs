//! Jobs and courses to come: by when what they need must be ordered, and whether their kits are complete.
//! What they need is weighed in `needs`, kits in `kit_checks` and `kit_counts`.

use std::collections::{BTreeMap, HashMap};

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use domain::calendar::OpenDays;
use domain::warning::{Reading, WarningKind};
use domain::watch::Limit;
use types::{GetKitCount, GetNeeds, Needs};

use super::candidate::{Candidate, HOURS_A_DAY};
use super::words::{amount, hour, long_day, percent};
use crate::service::watches::{Subject, Watched};
use crate::service::{Context, Error, kit_checks, kit_counts, needs};
use crate::store;
use crate::store::entity::sites;

/// How far ahead work is weighed, in days; what begins later is far from any deadline (invented).
const WORK_DAYS: i64 = 60;
/// So many open days before the last hour to order it is told (product rule).
const OPEN_DAYS: u32 = 3;
/// So many days before the start the kit must be complete (product rule).
const KIT_DAYS: i64 = 7;
/// How many days a stop costs where work cannot start (invented).
const DAYS_LOST: f64 = 1.0;

/// More suppliers than this are called by their codes.
const SELLERS_MAX: u64 = 1_000;

/// What people call suppliers, by their codes.
type Names = HashMap<String, String>;

/// What work that is booked needs of a part, where that is more than there is.
#[derive(Clone, Debug)]
pub(super) struct JobNeed {
    pub(super) code: String,
    pub(super) start: NaiveDate,
    pub(super) needs: i64,
    pub(super) purchase: Option<Purchase>,
}

/// What is proposed to buy of a part.
#[derive(Clone, Debug)]
pub(super) struct Purchase {
    pub(super) supplier: String,
    pub(super) packs: i64,
    pub(super) pack_size: i64,
    pub(super) cost_minor: i64,
    pub(super) currency: String,
    pub(super) order_by: NaiveDateTime,
}

/// What was found of work and kits.
#[derive(Default)]
pub(super) struct Found {
    pub(super) candidates: Vec<Candidate>,
    /// The first need of each part by its code that is not met.
    pub(super) by_part: BTreeMap<String, JobNeed>,
}

/// Looks at the work and the kits among what is watched.
pub(super) async fn look(
    context: &Context,
    (site, now): (&sites::Model, NaiveDateTime),
    watched: &[Watched],
) -> Result<Found, Error> {
    let mut work: Vec<&Watched> = watched.iter().filter(|it| !it.is_off()).collect();
    work.sort_by_key(|it| match it.subject {
        Subject::Job(_, _, start) | Subject::Course(_, _, start) => start,
        Subject::Parts(..) | Subject::Kit(_) | Subject::Torch(_) => NaiveDate::MIN,
    });
    let sellers = store::suppliers::list(context.store.read(), None, SELLERS_MAX).await?;
    let names = sellers
        .into_iter()
        .map(|row| (row.code, row.name))
        .collect();
    let mut found = Found::default();
    for watch in work {
        match &watch.subject {
            Subject::Job(_, code, start) | Subject::Course(_, code, start) => {
                let days = (*start - now.date()).num_days();
                if days > WORK_DAYS {
                    continue;
                }
                if let Some(needs) = needs_of(context, &watch.subject).await? {
                    note_parts(&needs, code, (&names, &mut found.by_part));
                    found
                        .candidates
                        .push(order_by(watch, (site.id, now), (&needs, &names)));
                }
                if let (Subject::Job(id, ..), true) = (&watch.subject, days <= KIT_DAYS) {
                    let kit = kit_of(context, (watch, site.id), (*id, *start)).await?;
                    found.candidates.extend(kit);
                }
            }
            Subject::Kit(kit) => {
                let candidate = kits(context, (watch, site), &kit.code).await?;
                found.candidates.push(candidate);
            }
            Subject::Parts(..) | Subject::Torch(_) => {}
        }
    }
    Ok(found)
}

/// What work needs; nothing where that cannot be told, since it has begun or has no size.
async fn needs_of(context: &Context, subject: &Subject) -> Result<Option<Needs>, Error> {
    let query = GetNeeds::default();
    let told = match subject {
        Subject::Job(_, code, _) => needs::get(context, code, &query).await,
        Subject::Course(_, code, _) => {
            let course = needs::get_course(context, code, &query).await;
            course.map(|course| course.needs)
        }
        Subject::Parts(..) | Subject::Kit(_) | Subject::Torch(_) => return Ok(None),
    };
    match told {
        Ok(needs) => Ok(Some(needs)),
        Err(Error::Invalid(_) | Error::WrongState(_)) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Notes the parts that work is short of, unless earlier work is.
fn note_parts(
    needs: &Needs,
    code: &str,
    (names, by_part): (&Names, &mut BTreeMap<String, JobNeed>),
) {
    for line in needs.lines.iter().filter(|line| line.short > 0) {
        let purchase = needs.orders.iter().find_map(|order| {
            let bought = order.lines.iter().find(|it| it.part == line.part)?;
            Some(Purchase {
                supplier: name(names, &order.supplier),
                packs: bought.packs,
                pack_size: bought.pack_size,
                cost_minor: bought.cost_minor,
                currency: order.currency.clone(),
                order_by: order.order_by,
            })
        });
        by_part.entry(line.part.clone()).or_insert(JobNeed {
            code: code.to_owned(),
            start: needs.start,
            needs: line.need,
            purchase,
        });
    }
}

/// The last hour to order what work needs.
fn order_by(
    watch: &Watched,
    (site, now): (i64, NaiveDateTime),
    (needs, names): (&Needs, &Names),
) -> Candidate {
    let deadline = needs.orders.iter().map(|order| order.order_by).min();
    let is_low = deadline.is_some_and(|by| now.date() >= told_from(by.date()));
    let chance = if is_low { 1.0 - needs.chance_now } else { 0.0 };
    let says = deadline.map_or_else(String::new, |by| {
        let buys: Vec<String> = needs.orders.iter().map(|order| buy(order, names)).collect();
        let by = if by <= now {
            format!("now; the last hour in time was {}", hour(by))
        } else {
            format!("by {}", hour(by))
        };
        format!(
            "{} starts {}: {} chance that it runs without a stop. Next: order {}, {by}.",
            needs.job,
            long_day(needs.start),
            percent(needs.chance_now),
            buys.join("; "),
        )
    });
    Candidate {
        weight: chance * DAYS_LOST * HOURS_A_DAY,
        ..candidate(
            (WarningKind::OrderBy, watch, site),
            (is_low, !is_low),
            (chance, says),
        )
    }
}

/// The first day on which a deadline is near: so many open days before it.
fn told_from(deadline: NaiveDate) -> NaiveDate {
    let open = OpenDays::weekdays();
    open.order_by(deadline, NaiveTime::MIN, OPEN_DAYS - 1)
        .date()
}

fn buy(order: &types::ProposedOrder, names: &Names) -> String {
    let lines: Vec<String> = order
        .lines
        .iter()
        .map(|line| format!("{} {}", line.pieces, line.part))
        .collect();
    let cost = amount(order.cost_minor, &order.currency);
    let supplier = name(names, &order.supplier);
    format!("{}, {supplier} {cost}", lines.join(" and "))
}

/// What people call a supplier.
fn name(names: &Names, code: &str) -> String {
    names.get(code).cloned().unwrap_or_else(|| code.to_owned())
}

/// Whether the kit of a job is complete.
async fn kit_of(
    context: &Context,
    (watch, site): (&Watched, i64),
    (id, start): (i64, NaiveDate),
) -> Result<Option<Candidate>, Error> {
    let db = context.store.read();
    let job = store::jobs::get_many(db, [id]).await?.pop();
    let Some((job, kit, torch)) = job.and_then(|job| {
        let (kit, torch) = (job.kit_id?, job.torch_id?);
        Some((job, kit, torch))
    }) else {
        return Ok(None);
    };
    let kit = store::kits::get_many(db, [kit]).await?.pop();
    let torch = store::torches::get_many(db, [torch]).await?.pop();
    let Some((kit, torch)) = kit.zip(torch) else {
        return Ok(None);
    };
    let check = kit_checks::get(context, &torch.code, &kit.code).await?;
    let is_low = check.state != "complete";
    let says = format!(
        "{} starts {}: kit {} on {} is {}. {}",
        job.code,
        long_day(start),
        kit.code,
        torch.code,
        check.state,
        check.says.join(" "),
    );
    let chance = if is_low { 1.0 } else { 0.0 };
    Ok(Some(Candidate {
        weight: chance * DAYS_LOST * HOURS_A_DAY,
        ..candidate(
            (WarningKind::Kit, watch, site),
            (is_low, !is_low),
            (chance, says),
        )
    }))
}

/// Whether stock makes more kits than a watch wants at least.
async fn kits(
    context: &Context,
    (watch, site): (&Watched, &sites::Model),
    kit: &str,
) -> Result<Candidate, Error> {
    let query = GetKitCount {
        site: Some(site.code.clone()),
    };
    let told = kit_counts::get(context, kit, &query).await?;
    let Limit::Pieces(limit) = watch.limit else {
        return Err(Error::Internal(
            "a kit is watched without a number".to_owned(),
        ));
    };
    let is_low = told.count <= limit;
    let says = format!(
        "Kit {kit}: stock makes {}, and {limit} or fewer are low. {}",
        told.count,
        told.says.join(" ")
    );
    Ok(candidate(
        (WarningKind::Kit, watch, site.id),
        (is_low, !is_low),
        (0.0, says),
    ))
}

fn candidate(
    (kind, watch, site): (WarningKind, &Watched, i64),
    (is_low, is_clear): (bool, bool),
    (chance, says): (f64, String),
) -> Candidate {
    let (mut job, mut course) = (None, None);
    let subject = match &watch.subject {
        Subject::Job(id, code, _) => {
            job = Some(*id);
            code.clone()
        }
        Subject::Course(id, code, _) => {
            course = Some(*id);
            code.clone()
        }
        Subject::Kit(kit) => kit.code.clone(),
        Subject::Parts(..) | Subject::Torch(_) => String::new(),
    };
    Candidate {
        kind,
        key: format!("{site}:{}:{}", kind.as_str(), watch.key()),
        subject,
        part: None,
        job,
        course,
        channels: watch.channels.clone(),
        reading: Reading {
            is_low,
            is_clear,
            chance,
            on_hand: 0,
            on_order_until: None,
        },
        weight: chance,
        louder: says.clone(),
        says,
        figures: None,
    }
}
