//! What may be ordered for a site.

use sea_orm::ConnectionTrait;

use crate::service::{Error, site_rules};
use crate::store;
use crate::store::entity::sites;

/// The site of an order.
pub(super) async fn site_of(db: &impl ConnectionTrait, id: i64) -> Result<sites::Model, Error> {
    let site = store::sites::get_many(db, [id]).await?.pop();
    site.ok_or_else(|| Error::Internal(format!("site {id} is gone")))
}

/// An order is a plan: what its site does not permit is not ordered for it.
pub(super) async fn check_permitted<'a>(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    lines: impl Iterator<Item = &'a i64>,
) -> Result<(), Error> {
    let lines: Vec<i64> = lines.copied().collect();
    let parts = store::parts::get_many(db, lines.iter().copied()).await?;
    for (index, line) in lines.iter().enumerate() {
        let Some(part) = parts.iter().find(|part| part.id == *line) else {
            continue;
        };
        let way_out = "order a permitted class, or for a site that permits it";
        let pointer = format!("/lines/{index}/part");
        site_rules::check_plan((site, part), pointer, way_out)?;
    }
    Ok(())
}
