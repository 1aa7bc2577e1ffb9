//! Mail addresses: who gets mail. What a mail says, and sending it, is in `channels`.

use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{MailAddress, MailAddressPage, NewMailAddress, Page, Sending};
use uuid::Uuid;

use super::webhooks::{kinds, kinds_text};
use super::{Context, Error, codes, instant, keys as callers};
use crate::store::{self, entity::mail_addresses};

/// A page of mail addresses; `says` is what stands in the way of mail.
pub async fn list(
    context: &Context,
    page: &Page,
    says: Option<String>,
) -> Result<MailAddressPage, Error> {
    let db = context.store.read();
    let after = page.after.as_deref().map(callers::cursor).transpose()?;
    let rows = store::mail_addresses::list(db, after, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    let mut found = Vec::with_capacity(rows.len());
    for row in rows {
        found.push(view(db, row).await?);
    }
    Ok(MailAddressPage {
        mail_addresses: found,
        next,
        says,
    })
}

/// One mail address.
pub async fn get(context: &Context, id: &str) -> Result<MailAddress, Error> {
    let db = context.store.read();
    let row = find(db, id).await?;
    view(db, row).await
}

/// Adds a mail address whose form was found good.
pub async fn create(context: &Context, new: NewMailAddress) -> Result<MailAddress, Error> {
    new.check()?;
    let now = context.clock.now().timestamp_micros();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = mail_addresses::ActiveModel {
                id: Set(Uuid::now_v7()),
                created_at: Set(now),
                version: Set(1),
                ..given(tx, &new).await?
            };
            let made = store::mail_addresses::insert(tx, row).await;
            view(tx, made.map_err(taken(&new.address))?).await
        })
    });
    write.await
}

/// Replaces a mail address whose form was found good.
pub async fn replace(
    context: &Context,
    id: &str,
    seen: i64,
    new: NewMailAddress,
) -> Result<MailAddress, Error> {
    new.check()?;
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("mail address", &id, old.version, seen)?;
            let row = given(tx, &new).await?;
            store::mail_addresses::edit(tx, (old.id, old.version), row)
                .await
                .map_err(taken(&new.address))?;
            view(tx, find(tx, &id).await?).await
        })
    });
    write.await
}

/// Removes a mail address, with what is on its way to it.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let (id, now) = (id.to_owned(), context.clock.now().timestamp_micros());
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("mail address", &id, old.version, seen)?;
            let why = "the address was removed";
            store::deliveries::give_up_all(tx, old.id, now, why).await?;
            Ok(store::mail_addresses::delete(tx, old.id).await?)
        })
    });
    write.await
}

fn taken(address: &str) -> impl FnOnce(store::Error) -> Error + use<> {
    let key = address.to_owned();
    move |error| {
        if matches!(error, store::Error::Conflict) {
            Error::AlreadyExists {
                kind: "mail address",
                key,
                remedy: "give another address",
            }
        } else {
            error.into()
        }
    }
}

/// What a caller gives, as columns.
async fn given(
    db: &impl ConnectionTrait,
    new: &NewMailAddress,
) -> Result<mail_addresses::ActiveModel, Error> {
    let site = match new.site.as_deref() {
        Some(site) => Some(codes::site_or_first(db, "/site", Some(site)).await?.code),
        None => None,
    };
    Ok(mail_addresses::ActiveModel {
        id: NotSet,
        address: Set(new.address.trim().to_owned()),
        note: Set(new.note.clone()),
        kinds: Set(kinds_text(&new.kinds)),
        site: Set(site),
        ..Default::default()
    })
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<mail_addresses::Model, Error> {
    let missing = || Error::NotFound {
        kind: "mail address",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    store::mail_addresses::find(db, uuid)
        .await?
        .ok_or_else(missing)
}

async fn view(db: &impl ConnectionTrait, row: mail_addresses::Model) -> Result<MailAddress, Error> {
    let waiting = store::deliveries::waiting(db, row.id).await?;
    Ok(MailAddress {
        address: row.address,
        note: row.note,
        kinds: kinds(&row.kinds),
        site: row.site,
        id: row.id,
        sending: Sending {
            waiting,
            failing_since: row.failing_since.map(instant::from_micros),
            last_answer: row.last_answer,
            last_answer_at: row.last_answer_at.map(instant::from_micros),
        },
        version: row.version,
    })
}
