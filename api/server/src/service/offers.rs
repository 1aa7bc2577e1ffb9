//! Offers.

use std::collections::HashMap;

use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{NewOffer, Offer, OfferPage, Page, PriceBreak};
use uuid::Uuid;

use super::{Context, Error, codes, keys, terms};
use crate::store::{self, entity::offers};

mod pushed;

pub use pushed::OfferRow;

/// A page of offers.
pub async fn list(context: &Context, page: &Page) -> Result<OfferPage, Error> {
    let db = context.store.read();
    let after = page.after.as_deref().map(keys::cursor).transpose()?;
    let rows = store::offers::list(db, after, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    Ok(OfferPage {
        offers: views(db, rows).await?,
        next,
    })
}

/// One offer.
pub async fn get(context: &Context, id: &str) -> Result<Offer, Error> {
    let db = context.store.read();
    view(db, find(db, id).await?).await
}

/// Adds an offer.
pub async fn create(context: &Context, new: NewOffer) -> Result<Offer, Error> {
    new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = row(tx, &new).await?;
            let row = store::offers::insert(tx, row).await.map_err(taken(&new))?;
            break_prices(tx, row.id, &new).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces an offer.
pub async fn replace(
    context: &Context,
    id: &str,
    seen: i64,
    new: NewOffer,
) -> Result<Offer, Error> {
    new.check()?;
    let (id, now) = (id.to_owned(), context.clock.now());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("offer", &id, old.version, seen)?;
            let row = offers::ActiveModel {
                id: NotSet,
                ..row(tx, &new).await?
            };
            store::offers::update(tx, (old.id, old.version), row)
                .await
                .map_err(taken(&new))?;
            break_prices(tx, old.id, &new).await?;
            let row = find(tx, &id).await?;
            terms::note_price(tx, (&old, &row), now).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces the price breaks of an offer.
async fn break_prices(db: &impl ConnectionTrait, offer: Uuid, new: &NewOffer) -> Result<(), Error> {
    let breaks: Vec<(i64, i64)> = new
        .breaks
        .iter()
        .map(|it| (it.packs_min, it.price_minor))
        .collect();
    Ok(store::offers::replace_breaks(db, offer, &breaks).await?)
}

/// Removes an offer; orders that were made from it keep their prices.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("offer", &id, old.version, seen)?;
            Ok(store::offers::delete(tx, old.id).await?)
        })
    });
    write.await
}

fn taken(new: &NewOffer) -> impl FnOnce(store::Error) -> Error + use<> {
    let key = format!(
        "of {} in packs of {} by {}",
        new.part, new.pack_size, new.supplier
    );
    codes::taken("offer", &key)
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<offers::Model, Error> {
    let missing = || Error::NotFound {
        kind: "offer",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    store::offers::find(db, uuid).await?.ok_or_else(missing)
}

async fn row(db: &impl ConnectionTrait, new: &NewOffer) -> Result<offers::ActiveModel, Error> {
    Ok(offers::ActiveModel {
        id: Set(Uuid::now_v7()),
        supplier_id: Set(codes::named_supplier(db, "/supplier", &new.supplier)
            .await?
            .id),
        part_id: Set(codes::named_part(db, "/part", &new.part).await?.id),
        pack_size: Set(new.pack_size),
        price_minor: Set(new.price_minor),
        none_until: Set(new.none_until.map(|day| day.format("%Y-%m-%d").to_string())),
        version: Set(1),
    })
}

async fn views(db: &impl ConnectionTrait, rows: Vec<offers::Model>) -> Result<Vec<Offer>, Error> {
    let parts = store::parts::get_many(db, rows.iter().map(|row| row.part_id)).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|part| (part.id, part.code)).collect();
    let suppliers = store::suppliers::get_many(db, rows.iter().map(|row| row.supplier_id)).await?;
    let suppliers: HashMap<i64, _> = suppliers.into_iter().map(|row| (row.id, row)).collect();
    let mut breaks: HashMap<Uuid, Vec<PriceBreak>> = HashMap::new();
    for row in store::offers::breaks(db, rows.iter().map(|row| row.id)).await? {
        breaks.entry(row.offer_id).or_default().push(PriceBreak {
            packs_min: row.packs_min,
            price_minor: row.price_minor,
        });
    }
    let view = |row: offers::Model| {
        let supplier = suppliers.get(&row.supplier_id)?;
        let none_until = row.none_until.as_deref().and_then(|day| day.parse().ok());
        let new = NewOffer {
            supplier: supplier.code.clone(),
            part: parts.get(&row.part_id)?.clone(),
            pack_size: row.pack_size,
            price_minor: row.price_minor,
            breaks: breaks.remove(&row.id).unwrap_or_default(),
            none_until,
        };
        Some(new.into_view(row.id, supplier.currency.clone(), row.version))
    };
    Ok(rows.into_iter().filter_map(view).collect())
}

async fn view(db: &impl ConnectionTrait, row: offers::Model) -> Result<Offer, Error> {
    let lost = || Error::Internal("an offer was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
