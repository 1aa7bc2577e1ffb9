//! Suppliers.

use chrono::{NaiveTime, Timelike};
use sea_orm::ActiveValue::Set;
use sea_orm::NotSet;
use types::{NewSupplier, Page, Supplier, SupplierPage};

use super::{Context, Error, codes};
use crate::store::{self, entity::suppliers};

/// A page of suppliers.
pub async fn list(context: &Context, page: &Page) -> Result<SupplierPage, Error> {
    let db = context.store.read();
    let rows = store::suppliers::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(SupplierPage {
        suppliers: rows.into_iter().map(view).collect(),
        next,
    })
}

/// One supplier.
pub async fn get(context: &Context, code: &str) -> Result<Supplier, Error> {
    Ok(view(codes::supplier(context.store.read(), code).await?))
}

/// Sets up a supplier.
pub async fn create(context: &Context, new: NewSupplier) -> Result<Supplier, Error> {
    let row = checked(&new)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let taken = codes::taken("supplier", &new.code);
            Ok(view(
                store::suppliers::insert(tx, row).await.map_err(taken)?,
            ))
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
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::supplier(tx, &code).await?;
            codes::check_version("supplier", &old.code, old.version, seen)?;
            store::suppliers::update(tx, (old.id, old.version), row).await?;
            Ok(view(codes::supplier(tx, &code).await?))
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

fn view(row: suppliers::Model) -> Supplier {
    let cut_off = cut_off(&row).format("%H:%M").to_string();
    let new = NewSupplier {
        code: row.code,
        name: Some(row.name),
        currency: row.currency,
        freight_minor: row.freight_minor,
        lead_time_days: row.lead_time_days,
        cut_off: Some(cut_off),
        note: row.note,
    };
    new.into_view(row.version)
}
