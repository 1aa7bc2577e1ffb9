//! What a workbook to use is made of: every drawer of a site with its parts, then the parts that lie in none.

use std::collections::{HashMap, HashSet};

use super::{Context, Error, codes, parts};
use crate::sheets::templates::Stored;
use crate::store;

/// What lies where, in the order of the drawers.
///
/// # Errors
/// There is no such site, or a failure of the store.
pub async fn stored(context: &Context, site: Option<&str>) -> Result<Vec<Stored>, Error> {
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", site).await?;
    let drawers = store::drawers::all(db, site.id).await?;
    let lines = store::drawers::contents(db, drawers.iter().map(|drawer| drawer.id)).await?;
    let mut names = HashMap::new();
    let all = store::parts::all(db).await?;
    for part in &all {
        names.insert(part.id, (part.code.clone(), parts::spec(part)?.describe()));
    }
    let lies = |drawer: &str, part: i64| {
        let (code, name) = names.get(&part)?;
        Some(Stored {
            drawer: drawer.to_owned(),
            part: code.clone(),
            name: name.clone(),
        })
    };
    let mut stored = Vec::new();
    for drawer in &drawers {
        let inside = lines.iter().filter(|line| line.drawer_id == drawer.id);
        stored.extend(inside.filter_map(|line| lies(&drawer.code, line.part_id)));
    }
    let placed: HashSet<i64> = lines.iter().map(|line| line.part_id).collect();
    let others = all.iter().filter(|part| !placed.contains(&part.id));
    stored.extend(others.filter_map(|part| lies("", part.id)));
    Ok(stored)
}
