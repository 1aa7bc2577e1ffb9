//! Drafts of orders: as told, or what a job or a course is short of, at the prices of the suppliers.

use sea_orm::ActiveValue::Set;
use sea_orm::DatabaseTransaction;
use types::{DraftOrders, DraftedOrders, Needs, NewOrder, NewOrderLine};

use super::permitted::{For, check_permitted, site_of};
use super::view::view;
use super::{State, asked, cancel_row};
use crate::service::keys::Caller;
use crate::service::known::View;
use crate::service::ledger::{Answer, hash};
use crate::service::needs::{self, Kind};
use crate::service::{Context, Error, codes, instant};
use crate::store;
use crate::store::entity::{order_lines, orders, suppliers};
use crate::store::work::Of;

/// Drafts an order.
pub async fn create(
    context: &Context,
    caller: Caller,
    key: &str,
    new: NewOrder,
) -> Result<Answer, Error> {
    new.check()?;
    let asked = asked(context, caller, key, hash(("order", &new))?)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let order = draft(tx, &new, asked.now).await?;
            asked.answer(tx, 201, &view(tx, order).await?).await
        })
    });
    write.await
}

/// Drafts what a job or a course is short of, one order a supplier. Earlier drafts for it are
/// cancelled, so that asking again does not order twice.
pub async fn draft_for_work(
    context: &Context,
    (caller, key): (Caller, &str),
    (kind, code): (Kind, &str),
    query: &DraftOrders,
) -> Result<Answer, Error> {
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let request = hash(("drafts", &(kind.noun(), code, &query.now)))?;
    let asked = asked(context, caller, key, request)?;
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let needs = needs::of_work(tx, (kind, &code), View::present(at)).await?;
            cancel_drafts(tx, kind.find(tx, &code).await?, asked.now).await?;
            let mut orders = Vec::new();
            for new in proposed(&needs, kind) {
                orders.push(view(tx, draft(tx, &new, asked.now).await?).await?);
            }
            let says = needs.says.first().cloned().unwrap_or_default();
            asked.answer(tx, 201, &DraftedOrders { orders, says }).await
        })
    });
    write.await
}

async fn cancel_drafts(tx: &DatabaseTransaction, of: Of, now: i64) -> Result<(), Error> {
    for order in store::orders::in_states(tx, &[State::Draft.as_str()]).await? {
        let is_own = match of {
            Of::Job(job) => order.job_id == Some(job),
            Of::Course(course) => order.course_id == Some(course),
        };
        if is_own {
            cancel_row(tx, order.id, now).await?;
        }
    }
    Ok(())
}

/// The orders that the needs propose.
fn proposed(needs: &Needs, kind: Kind) -> impl Iterator<Item = NewOrder> + '_ {
    needs.orders.iter().map(move |order| {
        let code = || Some(needs.job.clone());
        let (job, course) = match kind {
            Kind::Job => (code(), None),
            Kind::Course => (None, code()),
        };
        let lines = order.lines.iter().map(|line| NewOrderLine {
            part: line.part.clone(),
            pack_size: line.pack_size,
            packs: line.packs,
        });
        NewOrder {
            supplier: order.supplier.clone(),
            job,
            course,
            site: None,
            lines: lines.collect(),
        }
    })
}

async fn draft(tx: &DatabaseTransaction, new: &NewOrder, now: i64) -> Result<orders::Model, Error> {
    let supplier = codes::named_supplier(tx, "/supplier", &new.supplier).await?;
    let job = match &new.job {
        Some(job) => Some(codes::named_job(tx, "/job", job).await?),
        None => None,
    };
    let course = match &new.course {
        Some(course) => Some(codes::named_course(tx, "/course", course).await?),
        None => None,
    };
    let of_work = job.as_ref().map(|job| job.site_id);
    let of_work = of_work.or(course.as_ref().map(|course| course.site_id));
    let site = match (&new.site, of_work) {
        (None, Some(site)) => site_of(tx, site).await?,
        (site, _) => codes::site_or_first(tx, "/site", site.as_deref()).await?,
    };
    let lines = priced(tx, new, &supplier).await?;
    let of = For {
        site: &site,
        job: job.as_ref(),
        now,
    };
    check_permitted(tx, of, lines.iter().map(|line| line.part_id.as_ref())).await?;
    let order = orders::ActiveModel {
        supplier_id: Set(supplier.id),
        site_id: Set(site.id),
        job_id: Set(job.map(|job| job.id)),
        course_id: Set(course.map(|course| course.id)),
        state: Set(State::Draft.as_str().to_owned()),
        freight_minor: Set(freight(&supplier, &lines)),
        currency: Set(supplier.currency),
        created_at: Set(now),
        placed_at: Set(None),
        cancelled_at: Set(None),
        ..Default::default()
    };
    Ok(store::orders::insert(tx, order, lines).await?)
}

/// The freight of an order: none from the value on that saves it.
fn freight(supplier: &suppliers::Model, lines: &[order_lines::ActiveModel]) -> i64 {
    let goods: i64 = lines
        .iter()
        .map(|line| {
            line.packs
                .as_ref()
                .saturating_mul(*line.price_minor.as_ref())
        })
        .fold(0, i64::saturating_add);
    let is_free = supplier.free_over_minor.is_some_and(|over| goods >= over);
    if is_free { 0 } else { supplier.freight_minor }
}

/// The lines of an order at the prices of the supplier's offers.
async fn priced(
    tx: &DatabaseTransaction,
    new: &NewOrder,
    supplier: &suppliers::Model,
) -> Result<Vec<order_lines::ActiveModel>, Error> {
    let told: Vec<&str> = new.lines.iter().map(|line| line.part.as_str()).collect();
    let parts = codes::named_parts(tx, &told, |index| format!("/lines/{index}/part")).await?;
    let offers = store::offers::of_parts(tx, parts.iter().map(|part| part.id)).await?;
    let breaks = store::offers::breaks(tx, offers.iter().map(|offer| offer.id)).await?;
    let mut lines = Vec::with_capacity(new.lines.len());
    for (index, (line, part)) in new.lines.iter().zip(&parts).enumerate() {
        let offer = offers.iter().find(|offer| {
            offer.part_id == part.id
                && offer.supplier_id == supplier.id
                && offer.pack_size == line.pack_size
        });
        let Some(offer) = offer else {
            let why = format!(
                "{} offers no pack of {} {}; see the offers, or add one",
                supplier.code, line.pack_size, part.code
            );
            return Err(Error::invalid(format!("/lines/{index}/pack_size"), why));
        };
        let reached = breaks
            .iter()
            .rev()
            .find(|it| it.offer_id == offer.id && it.packs_min <= line.packs);
        let price_minor = reached.map_or(offer.price_minor, |it| it.price_minor);
        lines.push(order_lines::ActiveModel {
            part_id: Set(part.id),
            pack_size: Set(line.pack_size),
            packs: Set(line.packs),
            received: Set(0),
            price_minor: Set(price_minor),
            ..Default::default()
        });
    }
    Ok(lines)
}
