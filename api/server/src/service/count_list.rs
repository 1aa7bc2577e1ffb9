//! The count list: which drawers to count now. What a count is worth is computed in the domain; here it
//! gets the books of a site, and drawers get the worth of what lies in them.

use std::collections::{BTreeSet, HashMap};

use chrono::{DateTime, Utc};
use domain::assumption::starting_assumption;
use domain::counting::{ErrorRates, Worth, occasions};
use domain::exposure::Driver;
use domain::forecast::{Target, reorder_point};
use domain::part::{PartSpec, Unit};
use domain::wear::{Gamma, JobSize};
use sea_orm::ConnectionTrait;
use types::{
    COUNT_DRAWERS_DEFAULT, COUNT_DRAWERS_MAX, COVER_DAYS_DEFAULT, Checker, CountLine, CountList,
    DEFAULT_GROUP, ErrorRate, GetCountList,
};

use super::forecasts::{flag, whole};
use super::known::{self, View};
use super::learned::{Records, Whose};
use super::ledger::book;
use super::{Context, Error, codes, parts};
use crate::store;
use crate::store::entity::{drawers, parts as part_rows, sites};

mod drift;
mod words;

use drift::{Drift, Drifts};
use words::{says, why};

/// What is asked, checked.
#[derive(Clone, Copy, Debug)]
struct Asked {
    /// How many drawers; none for all.
    drawers: Option<usize>,
    cover_weeks: f64,
    view: View,
}

/// A place to count in: a drawer, or a part that lies in none.
#[derive(Debug)]
struct Place {
    drawer: Option<drawers::Model>,
    parts: Vec<i64>,
}

/// A part with what a count of it is worth.
#[derive(Debug)]
struct Weighed {
    row: part_rows::Model,
    spec: PartSpec,
    worth: Worth,
    /// Absent where no chance can be told.
    chance: Option<f64>,
    drift: Drift,
    lies: Vec<drawers::Model>,
}

/// What to count at a site.
pub async fn get(context: &Context, query: &GetCountList) -> Result<CountList, Error> {
    let db = context.store.read();
    let asked = checked(query, context.clock.now())?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let places = places(db, &site).await?;
    let drifts = Drifts::load(db, &site, asked.view.at).await?;
    let weighed = weighed(db, &site, (&places, &drifts), asked).await?;
    let chosen = chosen(&places, &weighed, asked.drawers);
    let lines = lines(&places, &chosen, &weighed)?;
    let counted: BTreeSet<usize> = chosen.iter().map(|(place, _)| *place).collect();
    let assumed = ErrorRates::assumed();
    let says = says((counted.len(), places.len()), lines.len(), &drifts);
    Ok(CountList {
        as_of: asked.view.at,
        site: site.code,
        lines,
        losses: rate(assumed.losses, drifts.rates.losses, drifts.pieces.0),
        gains: rate(assumed.gains, drifts.rates.gains, drifts.pieces.1),
        says,
    })
}

fn checked(query: &GetCountList, present: DateTime<Utc>) -> Result<Asked, Error> {
    let mut checker = Checker::default();
    let drawers = query.drawers.unwrap_or(COUNT_DRAWERS_DEFAULT);
    if !(1..=COUNT_DRAWERS_MAX).contains(&drawers) {
        let why = format!(
            "{drawers} is out of range; give 1 to {COUNT_DRAWERS_MAX}, or all=1 for the whole sheet"
        );
        checker.note("drawers", why);
    }
    let days = query.cover_days.unwrap_or(COVER_DAYS_DEFAULT);
    if !(1..=3_650).contains(&days) {
        checker.note(
            "cover_days",
            format!("{days} is out of range; give 1 to 3650 days"),
        );
    }
    let all = checker.take("all", flag(query.all.as_deref()));
    checker.finish().map_err(Error::in_query)?;
    let view = View::planned((None, None), query.now.as_deref(), present)?;
    let drawers = usize::try_from(drawers).unwrap_or(usize::MAX);
    Ok(Asked {
        drawers: Some(drawers).filter(|_| all != Some(true)),
        cover_weeks: f64::from(u16::try_from(days).unwrap_or(u16::MAX)) / 7.0,
        view,
    })
}

/// The places of a site in their order: its drawers, then each part that is or was there and lies in
/// none.
async fn places(db: &impl ConnectionTrait, site: &sites::Model) -> Result<Vec<Place>, Error> {
    let drawers = store::drawers::all(db, site.id).await?;
    let contents = store::drawers::contents(db, drawers.iter().map(|drawer| drawer.id)).await?;
    let placed: BTreeSet<i64> = contents.iter().map(|line| line.part_id).collect();
    let mut places: Vec<Place> = Vec::with_capacity(drawers.len());
    for drawer in drawers {
        let lines = contents.iter().filter(|line| line.drawer_id == drawer.id);
        let parts: Vec<i64> = lines.map(|line| line.part_id).collect();
        if !parts.is_empty() {
            let drawer = Some(drawer);
            places.push(Place { drawer, parts });
        }
    }
    let levels = store::levels::all(db).await?;
    let loose = levels.iter().filter(|row| row.site_id == site.id);
    let loose = loose
        .map(|row| row.part_id)
        .filter(|id| !placed.contains(id));
    let mut loose = store::parts::get_many(db, loose).await?;
    loose.sort_by(|a, b| a.code_key.cmp(&b.code_key));
    places.extend(loose.into_iter().map(|part| Place {
        drawer: None,
        parts: vec![part.id],
    }));
    Ok(places)
}

/// What a count of each part is worth.
async fn weighed(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    (places, drifts): (&[Place], &Drifts),
    asked: Asked,
) -> Result<HashMap<i64, Weighed>, Error> {
    let ids: BTreeSet<i64> = places
        .iter()
        .flat_map(|place| place.parts.clone())
        .collect();
    let rows = store::parts::get_many(db, ids.iter().copied()).await?;
    let ids: Vec<i64> = ids.into_iter().collect();
    let books = known::levels(db, asked.view, (site.id, &ids)).await?;
    let mut lies: HashMap<i64, Vec<drawers::Model>> = HashMap::new();
    for place in places {
        for (part, drawer) in place.parts.iter().zip(place.drawer.iter().cycle()) {
            lies.entry(*part).or_default().push(drawer.clone());
        }
    }
    let whose = Whose {
        site: site.id,
        group: DEFAULT_GROUP,
        view: asked.view,
    };
    let records = Records::load(db, &rows, whose).await?;
    let mut weighed = HashMap::with_capacity(rows.len());
    for row in rows {
        let spec = parts::spec(&row)?;
        let book = books.get(&row.id).copied().unwrap_or_default();
        let drift = drifts.of(row.id);
        let point = order_point(&records, &row, &spec, asked.cover_weeks)?;
        let margin = book::level(&book, &row, site)
            .position()
            .saturating_sub(point);
        let chance = chance(&drifts.rates, &spec, margin, drift)?;
        let worth = Worth {
            below_zero: u32::from(book.on_hand.on_hand < 0),
            never_counted: u32::from(drift.counted_at.is_none()),
            chance: chance.unwrap_or_default(),
            weeks: drift.weeks,
        };
        let lies = lies.remove(&row.id).unwrap_or_default();
        let id = row.id;
        let part = Weighed {
            row,
            spec,
            worth,
            chance,
            drift,
            lies,
        };
        weighed.insert(id, part);
    }
    Ok(weighed)
}

/// The order point over the days that stock must last: by the shop's own record, else by the starting
/// assumption.
fn order_point(
    records: &Records,
    part: &part_rows::Model,
    spec: &PartSpec,
    cover_weeks: f64,
) -> Result<i64, Error> {
    let size = JobSize {
        arc: None,
        grinds: None,
        weeks: Some(cover_weeks),
        ..JobSize::default()
    };
    let uses = match records.learn(part, &size)? {
        Ok(learned) => learned.uses,
        // Used in its first week: there is no rate by the week yet.
        Err(_) => starting_assumption(spec.kind(), Driver::Weeks)
            .predictive(cover_weeks)
            .map_err(|error| Error::Internal(error.to_string()))?,
    };
    Ok(whole(reorder_point(&uses, Target::DEFAULT)))
}

/// The chance that a count changes the decision to order. What is not counted by the piece goes wrong
/// in other amounts, of which nothing is known.
fn chance(
    rates: &ErrorRates,
    spec: &PartSpec,
    margin: i64,
    drift: Drift,
) -> Result<Option<f64>, Error> {
    if spec.kind().unit() != Unit::Piece || drift.counted_at.is_none() {
        return Ok(None);
    }
    let over = occasions(drift.movements, drift.weeks);
    rates
        .chance_of_change(margin, over)
        .map(Some)
        .map_err(|error| Error::Internal(error.to_string()))
}

/// The places and parts to count, in the order of the sheet. With a part that lies in several drawers
/// come its other drawers, since a count of one alone says nothing.
fn chosen(
    places: &[Place],
    weighed: &HashMap<i64, Weighed>,
    number: Option<usize>,
) -> BTreeSet<(usize, i64)> {
    let worth = |place: &Place| {
        let parts = place.parts.iter().filter_map(|part| weighed.get(part));
        parts.fold(Worth::NOTHING, |sum, part| sum.and(part.worth))
    };
    let mut order: Vec<(usize, Worth)> = places.iter().map(worth).enumerate().collect();
    order.sort_by(|(_, a), (_, b)| a.urgency(b));
    order.truncate(number.unwrap_or(usize::MAX));
    let parts: BTreeSet<i64> = order
        .iter()
        .flat_map(|(place, _)| places[*place].parts.clone())
        .collect();
    let lines = places.iter().enumerate().flat_map(|(index, place)| {
        let parts = place.parts.iter().filter(|part| parts.contains(part));
        parts.map(move |part| (index, *part))
    });
    lines.collect()
}

fn lines(
    places: &[Place],
    chosen: &BTreeSet<(usize, i64)>,
    weighed: &HashMap<i64, Weighed>,
) -> Result<Vec<CountLine>, Error> {
    let mut lines = Vec::with_capacity(chosen.len());
    for (index, place) in places.iter().enumerate() {
        // As they lie in the drawer, not as they were set up.
        for id in place
            .parts
            .iter()
            .filter(|id| chosen.contains(&(index, **id)))
        {
            let lost = || Error::Internal("a part was lost while it was weighed".to_owned());
            let part = weighed.get(id).ok_or_else(lost)?;
            lines.push(CountLine {
                drawer: place.drawer.as_ref().map(|drawer| drawer.code.clone()),
                part: part.row.code.clone(),
                name: part.spec.describe(),
                unit: part.spec.kind().unit().as_str().to_owned(),
                why: why(part, place.drawer.as_ref()),
                chance: part.chance,
                counted_at: part.drift.counted_at,
            });
        }
    }
    Ok(lines)
}

fn rate(assumed: Gamma, learned: Gamma, pieces: i64) -> ErrorRate {
    ErrorRate {
        pieces,
        occasions: learned.rate() - assumed.rate(),
        assumed_shape: assumed.shape(),
        assumed_rate: assumed.rate(),
        shape: learned.shape(),
        rate: learned.rate(),
    }
}
