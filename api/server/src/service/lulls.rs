//! Lulls: days on which a site does less work than usual, or more, and the share of each day.

use chrono::{Days, NaiveDate};
use domain::lull;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{ListLulls, Lull, LullPage, NewLull, Page};
use uuid::Uuid;

use super::{Context, Error, codes};
use crate::store::{self, entity::lulls, entity::sites};

const DAY: &str = "%Y-%m-%d";

/// The share of the usual work that a site does on each of `days` days from `from` on, in the site's
/// own days: 0 to 5, and 1 where there is no lull.
///
/// # Errors
/// A failure of the store, or [`Error::Internal`] if a row does not hold what a check lets in.
pub async fn shares(
    db: &impl ConnectionTrait,
    site: i64,
    from: NaiveDate,
    days: u32,
) -> Result<Vec<f64>, Error> {
    let further = Days::new(u64::from(days.saturating_sub(1)));
    let until = from.checked_add_days(further);
    let lulls = within(db, site, (from, until.unwrap_or(NaiveDate::MAX))).await?;
    let lulls: Result<Vec<_>, Error> = lulls
        .iter()
        .map(|row| Ok(told(row, None)?.check()?))
        .collect();
    Ok(lull::shares(&lulls?, from, days))
}

/// A page of the lulls of a site.
pub async fn list(context: &Context, query: &ListLulls) -> Result<LullPage, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let after = query.after.as_deref().map(cursor).transpose()?;
    let rows = store::lulls::list(db, site.id, after.as_deref(), limit).await?;
    let next = codes::next(&rows, limit, |row| row.first.clone());
    let lulls: Result<_, Error> = rows.iter().map(|row| view(row, &site)).collect();
    Ok(LullPage {
        lulls: lulls?,
        next,
    })
}

/// One lull.
pub async fn get(context: &Context, id: &str) -> Result<Lull, Error> {
    read(context.store.read(), id).await
}

/// Sets a lull.
pub async fn create(context: &Context, new: NewLull) -> Result<Lull, Error> {
    let checked = new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let site = codes::site_or_first(tx, "/site", new.site.as_deref()).await?;
            check_free(tx, &site, &checked, None).await?;
            let row = row(&new, &checked, site.id);
            let made = store::lulls::insert(tx, row).await;
            view(&made.map_err(taken(&site, &checked))?, &site)
        })
    });
    write.await
}

/// Replaces a lull.
pub async fn replace(context: &Context, id: &str, seen: i64, new: NewLull) -> Result<Lull, Error> {
    let checked = new.check()?;
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("lull", &id, old.version, seen)?;
            let site = codes::site_or_first(tx, "/site", new.site.as_deref()).await?;
            check_free(tx, &site, &checked, Some(old.id)).await?;
            let row = lulls::ActiveModel {
                id: NotSet,
                ..row(&new, &checked, site.id)
            };
            store::lulls::update(tx, (old.id, old.version), row)
                .await
                .map_err(taken(&site, &checked))?;
            read(tx, &id).await
        })
    });
    write.await
}

/// Removes a lull; its days are as usual again.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("lull", &id, old.version, seen)?;
            Ok(store::lulls::delete(tx, old.id).await?)
        })
    });
    write.await
}

/// No day has two lulls at one site; `own` is the lull that is replaced.
async fn check_free(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    new: &lull::Lull,
    own: Option<Uuid>,
) -> Result<(), Error> {
    let rows = within(db, site.id, (new.first(), new.last())).await?;
    match rows.iter().find(|row| Some(row.id) != own) {
        Some(row) => Err(overlapping(format!(
            "{} of {} from {} to {}, share {},",
            row.id, site.code, row.first, row.last, row.share
        ))),
        None => Ok(()),
    }
}

/// The same when another process was faster, told without its id.
fn taken(site: &sites::Model, new: &lull::Lull) -> impl FnOnce(store::Error) -> Error + use<> {
    let key = format!("of {} from {}", site.code, new.first());
    move |error| {
        if matches!(error, store::Error::Conflict) {
            overlapping(key)
        } else {
            error.into()
        }
    }
}

fn overlapping(key: String) -> Error {
    Error::AlreadyExists {
        kind: "lull",
        key,
        remedy: "give days outside it",
    }
}

async fn within(
    db: &impl ConnectionTrait,
    site: i64,
    (first, last): (NaiveDate, NaiveDate),
) -> Result<Vec<lulls::Model>, Error> {
    // A text of more than four digits would not compare as its day does; no lull is that late.
    let latest = NaiveDate::from_ymd_opt(9999, 12, 31).unwrap_or(NaiveDate::MAX);
    let day = |day: NaiveDate| day.min(latest).format(DAY).to_string();
    Ok(store::lulls::within(db, site, (&day(first), &day(last))).await?)
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<lulls::Model, Error> {
    let missing = || Error::NotFound {
        kind: "lull",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    store::lulls::find(db, uuid).await?.ok_or_else(missing)
}

async fn read(db: &impl ConnectionTrait, id: &str) -> Result<Lull, Error> {
    let row = find(db, id).await?;
    let sites = store::sites::get_many(db, [row.site_id]).await?;
    let lost = || Error::Internal(format!("the site of lull {id} is gone"));
    view(&row, sites.first().ok_or_else(lost)?)
}

/// The day in a cursor.
fn cursor(after: &str) -> Result<String, Error> {
    let day = NaiveDate::parse_from_str(after, DAY).map_err(|_| {
        Error::invalid(
            "?after",
            format!("\"{after}\" is not the next of a page; start without it"),
        )
    })?;
    Ok(day.format(DAY).to_string())
}

fn row(new: &NewLull, checked: &lull::Lull, site: i64) -> lulls::ActiveModel {
    lulls::ActiveModel {
        id: Set(Uuid::now_v7()),
        site_id: Set(site),
        first: Set(checked.first().format(DAY).to_string()),
        last: Set(checked.last().format(DAY).to_string()),
        share: Set(checked.share().get()),
        note: Set(new.note.clone()),
        version: Set(1),
    }
}

/// A row as somebody would tell it.
fn told(row: &lulls::Model, site: Option<String>) -> Result<NewLull, Error> {
    let day = |text: &str| {
        NaiveDate::parse_from_str(text, DAY)
            .map_err(|_| Error::Internal(format!("a day of lull {} cannot be read back", row.id)))
    };
    Ok(NewLull {
        site,
        first: day(&row.first)?,
        last: day(&row.last)?,
        share: row.share,
        note: row.note.clone(),
    })
}

fn view(row: &lulls::Model, site: &sites::Model) -> Result<Lull, Error> {
    Ok(told(row, Some(site.code.clone()))?.into_view(row.id, row.version))
}
