//! What may be ordered: for a site, and for a job that is done by a procedure.

use sea_orm::ConnectionTrait;

use crate::service::procedures::InForce;
use crate::service::{Error, site_rules};
use crate::store;
use crate::store::entity::{jobs, sites};

/// For what an order is.
pub(super) struct For<'a> {
    /// Where it goes.
    pub(super) site: &'a sites::Model,
    /// The job, if it is for one.
    pub(super) job: Option<&'a jobs::Model>,
    /// When, in microseconds.
    pub(super) now: i64,
}

/// The site of an order.
pub(super) async fn site_of(db: &impl ConnectionTrait, id: i64) -> Result<sites::Model, Error> {
    let site = store::sites::get_many(db, [id]).await?.pop();
    site.ok_or_else(|| Error::Internal(format!("site {id} is gone")))
}

/// The job of an order.
pub(super) async fn job_of(
    db: &impl ConnectionTrait,
    id: Option<i64>,
) -> Result<Option<jobs::Model>, Error> {
    Ok(store::jobs::get_many(db, id).await?.pop())
}

/// An order is a plan: what its site or the procedure of its job does not permit is not ordered.
pub(super) async fn check_permitted<'a>(
    db: &impl ConnectionTrait,
    of: For<'_>,
    lines: impl Iterator<Item = &'a i64>,
) -> Result<(), Error> {
    let lines: Vec<i64> = lines.copied().collect();
    let parts = store::parts::get_many(db, lines.iter().copied()).await?;
    let done_by = match of.job {
        Some(job) => InForce::of_job(db, job, of.now).await?.map(|it| (job, it)),
        None => None,
    };
    for (index, line) in lines.iter().enumerate() {
        let Some(part) = parts.iter().find(|part| part.id == *line) else {
            continue;
        };
        let way_out = "order a permitted class, or for a site that permits it";
        let pointer = format!("/lines/{index}/part");
        site_rules::check_plan((of.site, part), &*pointer, way_out)?;
        if let Some((job, in_force)) = &done_by {
            in_force.check_plan((&job.code, part), pointer, "order a permitted part")?;
        }
    }
    Ok(())
}
