//! Suppliers.

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveTime, Timelike};
use domain::calendar::OpenDays;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{Closure, NewSupplier, Page, Supplier, SupplierPage};

use super::{Context, Error, codes, terms};
use crate::store;
use crate::store::entity::{supplier_closures, suppliers};

/// How a day is kept.
const DAY: &str = "%Y-%m-%d";

/// A page of suppliers.
pub async fn list(context: &Context, page: &Page) -> Result<SupplierPage, Error> {
    let db = context.store.read();
    let rows = store::suppliers::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(SupplierPage {
        suppliers: views(db, rows).await?,
        next,
    })
}

/// One supplier.
pub async fn get(context: &Context, code: &str) -> Result<Supplier, Error> {
    let db = context.store.read();
    view(db, codes::supplier(db, code).await?).await
}

/// Sets up a supplier.
pub async fn create(context: &Context, new: NewSupplier) -> Result<Supplier, Error> {
    let row = checked(&new)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let taken = codes::taken("supplier", &new.code);
            let row = store::suppliers::insert(tx, row).await.map_err(taken)?;
            shut(tx, row.id, &new.closures).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces a supplier.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewSupplier,
) -> Result<Supplier, Error> {
    codes::keep_code(code, &new.code)?;
    let row = suppliers::ActiveModel {
        code: NotSet,
        code_key: NotSet,
        ..checked(&new)?
    };
    let (code, now) = (code.to_owned(), context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::supplier(tx, &code).await?;
            codes::check_version("supplier", &old.code, old.version, seen)?;
            store::suppliers::update(tx, (old.id, old.version), row).await?;
            shut(tx, old.id, &new.closures).await?;
            let row = codes::supplier(tx, &code).await?;
            terms::note_lead_time(tx, (&old, &row), now).await?;
            view(tx, row).await
        })
    });
    write.await
}

fn checked(new: &NewSupplier) -> Result<suppliers::ActiveModel, Error> {
    let (currency, cut_off) = new.check()?;
    Ok(suppliers::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        currency: Set(currency.code().to_owned()),
        freight_minor: Set(new.freight_minor),
        lead_time_days: Set(new.lead_time_days),
        cut_off_minute: Set(i64::from(cut_off.num_seconds_from_midnight() / 60)),
        note: Set(new.note.clone()),
        minimum_minor: Set(new.minimum_minor),
        free_over_minor: Set(new.free_over_minor),
        version: Set(1),
        ..Default::default()
    })
}

/// The local time after which an order counts as the next open day's.
pub fn cut_off(row: &suppliers::Model) -> NaiveTime {
    u32::try_from(row.cut_off_minute * 60)
        .ok()
        .and_then(|seconds| NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0))
        .unwrap_or(types::CUT_OFF_DEFAULT)
}

/// Replaces the closures of a supplier.
async fn shut(db: &impl ConnectionTrait, supplier: i64, closures: &[Closure]) -> Result<(), Error> {
    let rows = closures
        .iter()
        .zip(0..)
        .map(|(closure, position)| supplier_closures::ActiveModel {
            supplier_id: Set(supplier),
            position: Set(position),
            first: Set(closure.first.format(DAY).to_string()),
            last: Set(closure.last().format(DAY).to_string()),
            note: Set(closure.note.clone()),
        });
    Ok(store::suppliers::replace_closures(db, supplier, rows.collect()).await?)
}

/// The closures of those suppliers.
async fn closures(
    db: &impl ConnectionTrait,
    suppliers: impl IntoIterator<Item = i64>,
) -> Result<HashMap<i64, Vec<Closure>>, Error> {
    let mut closures: HashMap<i64, Vec<Closure>> = HashMap::new();
    for row in store::suppliers::closures(db, suppliers).await? {
        let (first, last) = (day(&row.first)?, day(&row.last)?);
        closures.entry(row.supplier_id).or_default().push(Closure {
            first,
            last: Some(last),
            note: row.note,
        });
    }
    Ok(closures)
}

/// The open days of those suppliers; one without closures has none here.
pub(super) async fn open_days(
    db: &impl ConnectionTrait,
    suppliers: impl IntoIterator<Item = i64>,
) -> Result<HashMap<i64, OpenDays>, Error> {
    let closures = closures(db, suppliers).await?;
    let open = closures.into_iter().map(|(supplier, closures)| {
        let days = closures.iter().map(|it| (it.first, it.last()));
        let open = OpenDays::without(days).map_err(|error| Error::Internal(error.to_string()))?;
        Ok((supplier, open))
    });
    open.collect()
}

/// A day as it is kept.
pub(super) fn day(text: &str) -> Result<NaiveDate, Error> {
    NaiveDate::parse_from_str(text, DAY)
        .map_err(|_| Error::Internal(format!("the day \"{text}\" cannot be read back")))
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<suppliers::Model>,
) -> Result<Vec<Supplier>, Error> {
    let mut closures = closures(db, rows.iter().map(|row| row.id)).await?;
    let view = |row: suppliers::Model| {
        let closures = closures.remove(&row.id).unwrap_or_default();
        let cut_off = cut_off(&row).format("%H:%M").to_string();
        let new = NewSupplier {
            code: row.code,
            name: Some(row.name),
            currency: row.currency,
            freight_minor: row.freight_minor,
            lead_time_days: row.lead_time_days,
            cut_off: Some(cut_off),
            minimum_minor: row.minimum_minor,
            free_over_minor: row.free_over_minor,
            closures,
            note: row.note,
        };
        new.into_view(row.version)
    };
    Ok(rows.into_iter().map(view).collect())
}

async fn view(db: &impl ConnectionTrait, row: suppliers::Model) -> Result<Supplier, Error> {
    let lost = || Error::Internal("a supplier was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
