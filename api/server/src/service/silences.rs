//! Parts that stop work of which nothing can be said: no use is on record for long though their torches ran, so
//! it is likely that it was not logged. How unlikely it is otherwise, `domain::silence` says.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, Utc};
use domain::exposure::Driver;
use domain::silence::{Since, cannot_say};
use sea_orm::ConnectionTrait;

use super::known::View;
use super::{Error, codes, instant, learned, watches};
use crate::store;
use crate::store::entity::{
    drawers, levels, parts as part_rows, sites, starting_assumptions, torches, wear_days,
};
use crate::store::torch_wear::Asked;

/// A part of which nothing can be said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Silence {
    /// Its code.
    pub part: String,
    /// Why, and what to do.
    pub says: String,
}

/// What is known of the parts that are fitted in the torches of a site.
struct Known {
    site: sites::Model,
    view: View,
    stops: HashMap<i64, Vec<String>>,
    days: HashMap<i64, Vec<wear_days::Model>>,
    levels: HashMap<i64, levels::Model>,
    assumptions: Vec<starting_assumptions::Model>,
}

/// A part, and since which day none of it was used.
struct Silent {
    part: part_rows::Model,
    since: i64,
    days: i64,
}

/// The parts at a site of which nothing can be said, by code; those whose watch is off are left out.
///
/// # Errors
/// A failure of the store.
pub async fn of_site(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    now: DateTime<Utc>,
) -> Result<Vec<Silence>, Error> {
    let known = Known::load(db, site, View::present(now)).await?;
    let off = watches::off_parts(db, site.id).await?;
    let ids = known.stops.keys().copied().filter(|id| !off.contains(id));
    let mut silent = Vec::new();
    for part in store::parts::get_many(db, ids).await? {
        silent.extend(known.silent(part)?);
    }
    silent.sort_by(|a, b| a.part.code_key.cmp(&b.part.code_key));
    known.told(db, silent).await
}

impl Known {
    async fn load(
        db: &impl ConnectionTrait,
        site: &sites::Model,
        view: View,
    ) -> Result<Self, Error> {
        let stops = watches::torches_by_part(db, site.id).await?;
        let ids: Vec<i64> = stops.keys().copied().collect();
        let mut days: HashMap<i64, Vec<wear_days::Model>> = HashMap::new();
        for row in store::wear_days::find_many(db, (site.id, &ids), i64::MIN).await? {
            days.entry(row.part_id).or_default().push(row);
        }
        let keys = ids.iter().map(|part| (*part, site.id));
        let levels = store::levels::find_many(db, keys).await?;
        let levels = levels.into_iter().filter(|row| row.site_id == site.id);
        Ok(Self {
            levels: levels.map(|row| (row.part_id, row)).collect(),
            assumptions: store::parts::assumptions(db, ids.iter().copied()).await?,
            site: site.clone(),
            view,
            stops,
            days,
        })
    }

    /// Since when none of a part was used, if that is too long to be believed. Courses are left out: what
    /// they use is logged when they are over.
    fn silent(&self, part: part_rows::Model) -> Result<Option<Silent>, Error> {
        let rows = self.days.get(&part.id).map_or(&[][..], Vec::as_slice);
        let rows: Vec<&wear_days::Model> =
            rows.iter().filter(|row| row.student_days == 0).collect();
        let Some(first) = rows.first() else {
            return Ok(None);
        };
        let zone = instant::site_zone(&self.site.zone);
        let counted = self.levels.get(&part.id).and_then(|row| row.counted_at);
        let counted = counted.map(|at| instant::day_number(instant::from_micros(at), zone));
        let used = rows.iter().rev().find(|row| row.events > 0);
        let since = used.map_or(first.day - 1, |row| row.day);
        let since = since.max(counted.unwrap_or(since));
        let days = instant::day_number(self.view.at, zone) - since;
        let Some(groups) = self.groups(&part, &rows, since)? else {
            return Ok(None);
        };
        Ok(cannot_say(days, &groups).then_some(Silent { part, since, days }))
    }

    /// What each group did since, by what was known of it until then; nothing where no work is on record, so
    /// that nobody knows whether a torch ran.
    fn groups(
        &self,
        part: &part_rows::Model,
        rows: &[&wear_days::Model],
        since: i64,
    ) -> Result<Option<Vec<Since>>, Error> {
        let driver = if rows.iter().any(|row| row.arc_seconds > 0) {
            Driver::ArcTime
        } else if rows.iter().any(|row| row.grinds > 0) {
            Driver::Grinds
        } else {
            return Ok(None);
        };
        let stub = learned::stub_of(&self.site);
        let (assumed, _) = learned::assumed(part, driver, (&self.assumptions, stub))?;
        let mut sums: BTreeMap<&str, (i64, f64, f64)> = BTreeMap::new();
        for row in rows {
            let sum = sums.entry(&row.operator_group).or_default();
            let done = done(row, driver);
            if row.day <= since {
                sum.0 += row.events;
                sum.1 += done;
            } else {
                sum.2 += done;
            }
        }
        let groups = sums.into_values().map(|(used, before, exposure)| {
            let used = u64::try_from(used).unwrap_or(0);
            let rate = assumed.posterior(used, before);
            let rate = rate.map_err(|error| Error::Internal(error.to_string()))?;
            Ok(Since { rate, exposure })
        });
        groups.collect::<Result<Vec<_>, Error>>().map(Some)
    }

    /// In words, with the torches that ran and the drawers to count.
    async fn told(
        &self,
        db: &impl ConnectionTrait,
        silent: Vec<Silent>,
    ) -> Result<Vec<Silence>, Error> {
        if silent.is_empty() {
            return Ok(Vec::new());
        }
        let ids: Vec<i64> = silent.iter().map(|it| it.part.id).collect();
        let torches = store::torches::at_site(db, self.site.id).await?;
        let drawers = store::drawers::of_parts(db, self.site.id, ids.iter().copied()).await?;
        let mut told = Vec::with_capacity(silent.len());
        for it in silent {
            let ran = self.ran(db, &torches, &it).await?;
            told.push(Silence {
                says: says(&it, &ran, &drawers),
                part: it.part.code,
            });
        }
        Ok(told)
    }

    /// The torches that ran with a part since none of it was used.
    async fn ran(
        &self,
        db: &impl ConnectionTrait,
        torches: &[torches::Model],
        it: &Silent,
    ) -> Result<Vec<String>, Error> {
        let zone = instant::site_zone(&self.site.zone);
        let next = instant::day_of(it.since.saturating_add(1));
        let ids: Vec<i64> = torches.iter().map(|torch| torch.id).collect();
        let asked = Asked {
            torches: &ids,
            parts: &[it.part.id],
            since: instant::start_of_day(next, zone).timestamp_micros(),
            facts: self.view.facts(),
        };
        let worked = store::torch_wear::worked(db, asked).await?;
        let ran: BTreeSet<i64> = worked
            .iter()
            .filter(|row| row.arc_seconds > 0 || row.grinds > 0)
            .map(|row| row.torch_id)
            .collect();
        let named = torches.iter().filter(|torch| ran.contains(&torch.id));
        Ok(named.map(|torch| torch.code.clone()).collect())
    }
}

/// What a day exposed a part to.
fn done(row: &wear_days::Model, driver: Driver) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    match driver {
        Driver::Grinds => row.grinds as f64,
        Driver::ArcTime | Driver::Weeks | Driver::StudentDays => row.arc_seconds as f64 / 3_600.0,
    }
}

/// `Cannot say for gas-lens-B: no use recorded for 41 days though T1 ran. Next: count drawer 9.`
fn says(it: &Silent, ran: &[String], drawers: &[(i64, drawers::Model)]) -> String {
    let code = &it.part.code;
    let ran = match ran {
        [] => "its torches".to_owned(),
        ran => ran.join(", "),
    };
    let lies: Vec<&str> = drawers
        .iter()
        .filter(|(part, _)| *part == it.part.id)
        .map(|(_, drawer)| drawer.code.as_str())
        .collect();
    let next = match lies[..] {
        [] => "count it".to_owned(),
        [one] => format!("count drawer {one}"),
        _ => format!("count drawers {}", lies.join(", ")),
    };
    let days = it.days;
    format!(
        "Cannot say for {code}: no use recorded for {days} days though {ran} ran. Next: {next}."
    )
}

/// The silence of one part among those of a site, by its code.
pub fn about<'s>(silences: &'s [Silence], part: &str) -> Option<&'s Silence> {
    let key = codes::key(part);
    silences.iter().find(|it| codes::key(&it.part) == key)
}
