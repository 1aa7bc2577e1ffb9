//! A part is put into a drawer, which is set up if there is none of that code.

use domain::code::{Code, ParseCodeError};
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::DRAWER_PARTS_MAX;

use crate::service::Error;
use crate::store;
use crate::store::entity::drawers;

/// The code of a drawer.
///
/// # Errors
/// It is none.
pub fn code(text: &str) -> Result<Code, ParseCodeError> {
    Code::parse("drawer", text)
}

/// Puts a part behind what lies in a drawer of a site; whether it lay there not yet.
///
/// # Errors
/// The drawer has no room for another kind of part, or nothing can be written.
pub async fn put(
    db: &impl ConnectionTrait,
    site: i64,
    (code, part): (&Code, i64),
) -> Result<bool, Error> {
    let Some(drawer) = store::drawers::find(db, site, &code.sort_key()).await? else {
        let row = drawers::ActiveModel {
            site_id: Set(site),
            code: Set(code.as_str().to_owned()),
            sort_key: Set(code.sort_key()),
            name: Set(code.as_str().to_owned()),
            version: Set(1),
            ..Default::default()
        };
        let drawer = store::drawers::insert(db, row).await?;
        store::drawers::replace_contents(db, drawer.id, &[part]).await?;
        return Ok(true);
    };
    let lines = store::drawers::contents(db, [drawer.id]).await?;
    let mut parts: Vec<i64> = lines.iter().map(|line| line.part_id).collect();
    if parts.contains(&part) {
        return Ok(false);
    }
    if parts.len() >= DRAWER_PARTS_MAX {
        let why =
            format!("drawer {code} holds {DRAWER_PARTS_MAX} kinds of part, which is the most");
        return Err(Error::invalid("/drawer", why));
    }
    parts.push(part);
    let seen = drawers::ActiveModel {
        id: NotSet,
        ..Default::default()
    };
    store::drawers::update(db, (drawer.id, drawer.version), seen).await?;
    store::drawers::replace_contents(db, drawer.id, &parts).await?;
    Ok(true)
}
