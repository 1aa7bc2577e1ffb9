//! The stub jar of a site, as people ask for it. How stubs get in and out is in `ledger`.

use domain::class::ElectrodeClass;
use domain::safety::{About, Moment, cautions_at};
use domain::size::{Diameter, RodLength};
use sea_orm::ConnectionTrait;
use types::{Checker, ListStubs, Page, StubGroup, StubPage};

use super::ledger::is_known;
use super::{Context, Error, codes, site_rules};
use crate::store;
use crate::store::entity::sites;
use crate::store::stubs::{Group, Which};

/// What is in the jar of a site, a page by class, diameter, length and lot.
///
/// A jar holds a handful of groups, so the page is cut here rather than in the database, where
/// absent lengths and lots would not compare.
pub async fn list(context: &Context, query: &ListStubs) -> Result<StubPage, Error> {
    let db = context.store.read();
    let (class, diameter) = checked(query)?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let which = Which {
        class: class.map(ElectrodeClass::symbol),
        diameter_um: diameter.map(Diameter::um),
    };
    let mut jar: Vec<(String, Group)> = of_site(db, &site, which).await?;
    if let Some(after) = &query.after {
        jar.retain(|(key, _)| key > after);
    }
    jar.truncate(usize::try_from(limit).unwrap_or(usize::MAX));
    let next = codes::next(&jar, limit, |(key, _)| key.clone());
    let classes = jar
        .iter()
        .filter_map(|(_, group)| ElectrodeClass::parse(&group.class).ok());
    let about = About::classes(classes);
    Ok(StubPage {
        stubs: jar
            .into_iter()
            .map(|(_, group)| view(group, &site))
            .collect(),
        site: site.code,
        cautions: cautions_at(&[Moment::StubJar], &about),
        as_of: context.clock.now(),
        next,
    })
}

fn checked(query: &ListStubs) -> Result<(Option<ElectrodeClass>, Option<Diameter>), Error> {
    let mut checker = Checker::default();
    let class = checker.take_opt("class", query.class.as_deref(), ElectrodeClass::parse);
    let diameter = checker.take_opt("diameter", query.diameter.as_deref(), Diameter::parse);
    checker.finish().map_err(Error::in_query)?;
    Ok((class, diameter))
}

/// The groups of a jar, each with the key that pages go by, in the order of the keys.
async fn of_site(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    which: Which<'_>,
) -> Result<Vec<(String, Group)>, Error> {
    let jar = store::stubs::jar(db, site.id, which).await?;
    let mut jar: Vec<(String, Group)> = jar.into_iter().map(|group| (key(&group), group)).collect();
    jar.sort_by(|(a, _), (b, _)| a.cmp(b));
    Ok(jar)
}

/// A key that sorts lengths as numbers: all have as many digits.
fn key(group: &Group) -> String {
    let length = group.length_um.unwrap_or_default();
    let lot = codes::key(group.lot.as_deref().unwrap_or_default());
    let (class, diameter) = (&group.class, group.diameter_um);
    format!("{class}/{diameter:06}/{length:06}/{lot}")
}

fn view(group: Group, site: &sites::Model) -> StubGroup {
    let held_because = site_rules::held_because(site, site_rules::of_class(site, &group.class));
    let length = group.length_um.and_then(|um| RodLength::from_um(um).ok());
    let diameter = Diameter::from_um(group.diameter_um);
    let held = held_because.is_some();
    StubGroup {
        diameter: diameter.map_or_else(String::new, |diameter| diameter.to_string()),
        length: length.map(|length| length.to_string()),
        quantity: group.quantity,
        available: if held { 0 } else { group.quantity },
        held_because,
        usable_under_a_fixed_procedure: is_known(&group.class) && group.lot.is_some(),
        lot: group.lot,
        class: group.class,
    }
}
