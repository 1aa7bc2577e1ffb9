//! Where parts lie at a site, and whether a count in one drawer can be a count of its part.

use std::collections::HashMap;

use domain::code::Code;
use domain::nearest::nearest;
use sea_orm::ConnectionTrait;

use crate::service::Error;
use crate::store;
use crate::store::entity::{drawers, parts, sites};

/// The drawers of a site, and where some parts lie in them.
#[derive(Debug)]
pub struct Places {
    site: String,
    drawers: Vec<drawers::Model>,
    lies: HashMap<i64, Vec<drawers::Model>>,
}

impl Places {
    /// Reads the drawers of a site and where those parts lie.
    pub async fn load(
        db: &impl ConnectionTrait,
        site: &sites::Model,
        parts: impl IntoIterator<Item = i64>,
    ) -> Result<Self, Error> {
        let mut lies: HashMap<i64, Vec<drawers::Model>> = HashMap::new();
        for (part, drawer) in store::drawers::of_parts(db, site.id, parts).await? {
            lies.entry(part).or_default().push(drawer);
        }
        Ok(Self {
            site: site.code.clone(),
            drawers: store::drawers::all(db, site.id).await?,
            lies,
        })
    }

    /// The drawers in which a part lies, in their order.
    pub fn of(&self, part: i64) -> &[drawers::Model] {
        self.lies.get(&part).map_or(&[], Vec::as_slice)
    }

    /// The drawer of that code, in which the part must lie.
    ///
    /// # Errors
    /// [`Error::Invalid`] at `/drawer`: there is no such drawer, or the part does not lie in it.
    pub fn drawer(&self, told: &str, part: &parts::Model) -> Result<&drawers::Model, Error> {
        let Self { site, drawers, .. } = self;
        let sort_key = Code::parse("drawer", told).map(|code| code.sort_key());
        let sort_key = sort_key.map_err(|error| Error::invalid("/drawer", error))?;
        let Some(drawer) = drawers.iter().find(|it| it.sort_key == sort_key) else {
            return Err(Error::invalid("/drawer", self.no_such(told)));
        };
        let lies = self.of(part.id);
        if lies.iter().any(|it| it.id == drawer.id) {
            return Ok(drawer);
        }
        let part = &part.code;
        let remedy = if lies.is_empty() {
            format!("it lies in no drawer of {site}: leave the drawer out")
        } else {
            format!("it lies in {}: count it there", listed(lies))
        };
        let why = format!(
            "{part} does not lie in drawer {}; {remedy}, or add it to the parts of drawer {}",
            drawer.code, drawer.code
        );
        Err(Error::invalid("/drawer", why))
    }

    fn no_such(&self, told: &str) -> String {
        let site = &self.site;
        if self.drawers.is_empty() {
            return format!("there is no drawer {told}: {site} has none; leave the drawer out");
        }
        let codes = self.drawers.iter().map(|drawer| drawer.code.as_str());
        match nearest(told, codes).as_slice() {
            [] => format!("{site} has no drawer {told}; see the list of drawers"),
            near => format!(
                "{site} has no drawer {told}; nearest: {}, or see the list of drawers",
                near.join(", ")
            ),
        }
    }
}

/// `drawer 2`, `drawers 2 and 10`.
pub fn listed<'d>(drawers: impl IntoIterator<Item = &'d drawers::Model>) -> String {
    let codes: Vec<&str> = drawers.into_iter().map(|it| it.code.as_str()).collect();
    match codes.split_last() {
        None => "no drawer".to_owned(),
        Some((only, [])) => format!("drawer {only}"),
        Some((last, rest)) => format!("drawers {} and {last}", rest.join(", ")),
    }
}

/// Whether a count of a part in one drawer is a count of the part at the site.
///
/// # Errors
/// [`Error::Invalid`] at `/drawer`: the part does not lie there, or not only there.
pub async fn check_count(
    db: &impl ConnectionTrait,
    told: &str,
    part: &parts::Model,
    site: &sites::Model,
) -> Result<(), Error> {
    let places = Places::load(db, site, [part.id]).await?;
    let drawer = places.drawer(told, part)?;
    let others: Vec<_> = places
        .of(part.id)
        .iter()
        .filter(|it| it.id != drawer.id)
        .collect();
    if others.is_empty() {
        return Ok(());
    }
    let why = format!(
        "{} lies in {} too, so this is a part of the count only; count there as well and send all \
         as one batch, or leave the drawer out if the figure is that of all",
        part.code,
        listed(others)
    );
    Err(Error::invalid("/drawer", why))
}
