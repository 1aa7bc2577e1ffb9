//! Drawers: numbered places of a site, and the parts that lie in them.

use std::collections::HashMap;

use domain::code::Code;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{Drawer, DrawerPage, ListDrawers, NewDrawer, Page};

use super::{Context, Error, codes};
use crate::store;
use crate::store::entity::{drawers, sites};

pub mod filled;
pub mod places;

/// A page of the drawers of a site, as people number them.
pub async fn list(context: &Context, query: &ListDrawers) -> Result<DrawerPage, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let after = query
        .after
        .as_deref()
        .map(|after| sort_key("?after", after));
    let rows = store::drawers::list(db, site.id, after.transpose()?.as_deref(), limit).await?;
    let next = codes::next(&rows, limit, |row| row.code.clone());
    Ok(DrawerPage {
        drawers: views(db, &site, rows).await?,
        next,
    })
}

/// One drawer.
pub async fn get(context: &Context, code: &str, site: Option<&str>) -> Result<Drawer, Error> {
    let db = context.store.read();
    let (site, row) = find(db, code, site).await?;
    view(db, &site, row).await
}

/// Sets up a drawer.
pub async fn create(context: &Context, new: NewDrawer) -> Result<Drawer, Error> {
    let code = new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let site = codes::site_or_first(tx, "/site", new.site.as_deref()).await?;
            let row = drawers::ActiveModel {
                site_id: Set(site.id),
                code: Set(code.as_str().to_owned()),
                sort_key: Set(code.sort_key()),
                name: Set(name(&new)),
                version: Set(1),
                ..Default::default()
            };
            let taken = codes::taken("drawer", &new.code);
            let row = store::drawers::insert(tx, row).await.map_err(taken)?;
            replace_contents(tx, row.id, &new).await?;
            view(tx, &site, row).await
        })
    });
    write.await
}

/// Replaces what is known of a drawer and what lies in it.
pub async fn replace(
    context: &Context,
    (code, site): (&str, Option<&str>),
    seen: i64,
    new: NewDrawer,
) -> Result<Drawer, Error> {
    codes::keep_code(code, &new.code)?;
    new.check()?;
    let (code, site) = (code.to_owned(), site.map(str::to_owned));
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (site, old) = find(tx, &code, site.as_deref()).await?;
            keep_site(&site, new.site.as_deref())?;
            codes::check_version("drawer", &old.code, old.version, seen)?;
            let row = drawers::ActiveModel {
                id: NotSet,
                name: Set(name(&new)),
                ..Default::default()
            };
            store::drawers::update(tx, (old.id, old.version), row).await?;
            replace_contents(tx, old.id, &new).await?;
            let (site, row) = find(tx, &code, Some(&site.code)).await?;
            view(tx, &site, row).await
        })
    });
    write.await
}

/// Removes a drawer with its photos. The parts that lay in it stay on record.
pub async fn delete(
    context: &Context,
    (code, site): (&str, Option<&str>),
    seen: i64,
) -> Result<(), Error> {
    let (code, site) = (code.to_owned(), site.map(str::to_owned));
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (_, old) = find(tx, &code, site.as_deref()).await?;
            codes::check_version("drawer", &old.code, old.version, seen)?;
            Ok(store::drawers::delete(tx, old.id).await?)
        })
    });
    write.await
}

/// The drawer of that code at a site, or at the first.
///
/// # Errors
/// [`Error::NotFound`] if there is none.
pub async fn find(
    db: &impl ConnectionTrait,
    code: &str,
    site: Option<&str>,
) -> Result<(sites::Model, drawers::Model), Error> {
    let site = codes::site_or_first(db, "?site", site).await?;
    let missing = || Error::NotFound {
        kind: "drawer",
        key: code.to_owned(),
    };
    let key = Code::parse("drawer", code).map_err(|_| missing())?;
    let row = store::drawers::find(db, site.id, &key.sort_key()).await?;
    Ok((site, row.ok_or_else(missing)?))
}

fn sort_key(pointer: &str, code: &str) -> Result<String, Error> {
    Code::parse("drawer", code)
        .map(|code| code.sort_key())
        .map_err(|error| Error::invalid(pointer, error))
}

/// A drawer is a place: what moves to another site is what lies in it.
fn keep_site(site: &sites::Model, told: Option<&str>) -> Result<(), Error> {
    match told {
        Some(told) if codes::key(told) != site.code_key => {
            let why = format!(
                "the drawer stands at {}, not at {told}; set up a drawer there, and delete this one",
                site.code
            );
            Err(Error::invalid("/site", why))
        }
        _ => Ok(()),
    }
}

fn name(new: &NewDrawer) -> String {
    new.name.clone().unwrap_or_else(|| new.code.clone())
}

async fn replace_contents(
    db: &impl ConnectionTrait,
    drawer: i64,
    new: &NewDrawer,
) -> Result<(), Error> {
    let told: Vec<&str> = new.parts.iter().map(String::as_str).collect();
    let parts = codes::named_parts(db, &told, |index| format!("/parts/{index}")).await?;
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    Ok(store::drawers::replace_contents(db, drawer, &ids).await?)
}

async fn views(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    rows: Vec<drawers::Model>,
) -> Result<Vec<Drawer>, Error> {
    let lines = store::drawers::contents(db, rows.iter().map(|row| row.id)).await?;
    let parts = store::parts::get_many(db, lines.iter().map(|line| line.part_id)).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|part| (part.id, part.code)).collect();
    let view = |row: drawers::Model| {
        let lines = lines.iter().filter(|line| line.drawer_id == row.id);
        let new = NewDrawer {
            code: row.code,
            name: Some(row.name),
            site: Some(site.code.clone()),
            parts: lines
                .filter_map(|line| parts.get(&line.part_id).cloned())
                .collect(),
        };
        new.into_view(row.version)
    };
    Ok(rows.into_iter().map(view).collect())
}

async fn view(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    row: drawers::Model,
) -> Result<Drawer, Error> {
    let lost = || Error::Internal("a drawer was lost while it was shown".to_owned());
    views(db, site, vec![row]).await?.pop().ok_or_else(lost)
}
