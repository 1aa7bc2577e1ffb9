//! Which rows of a batch stand as one count: those of one part in all the drawers of a site in which
//! it lies. A row that names no drawer stands alone.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use domain::quantity::QUANTITY_MAX;
use sea_orm::ConnectionTrait;
use types::{DEFAULT_SITE, NewCount, Violation};

use super::{ByPlace, Row};
use crate::service::drawers::places::{Places, listed};
use crate::service::{Error, codes};
use crate::store;
use crate::store::entity::{drawers, parts};

/// Drawers that are counted further apart than this are not one count: too much moves meanwhile.
const APART: TimeDelta = TimeDelta::days(1);

/// Rows that stand as one count, and that count.
#[derive(Debug)]
pub(super) struct Sitting {
    /// The rows, at least one.
    pub(super) rows: Vec<Row>,
    /// What they say together.
    pub(super) count: NewCount,
}

/// The rows of one part, each with the drawer that it names.
#[derive(Debug)]
struct Group {
    part: parts::Model,
    lies: Vec<drawers::Model>,
    rows: Vec<(i64, Row)>,
}

/// Puts rows together. What can be seen to be wrong with drawers is told in `judged`; everything
/// else about a row is for the ledger to say.
pub(super) async fn seated(
    db: &impl ConnectionTrait,
    now: DateTime<Utc>,
    rows: Vec<Row>,
    judged: &mut ByPlace,
) -> Result<Vec<Sitting>, Error> {
    let mut sittings = Vec::with_capacity(rows.len());
    let mut groups: BTreeMap<(i64, i64), Group> = BTreeMap::new();
    let known = Known::load(db, &rows).await?;
    for row in rows {
        let Some(told) = &row.count.drawer else {
            sittings.push(Sitting::alone(row));
            continue;
        };
        let Some((site, places, part)) = known.place(&row.count) else {
            sittings.push(Sitting::alone(row));
            continue;
        };
        match places.drawer(told, part) {
            Ok(drawer) => {
                let group = groups.entry((site, part.id)).or_insert_with(|| Group {
                    part: part.clone(),
                    lies: places.of(part.id).to_vec(),
                    rows: Vec::new(),
                });
                group.rows.push((drawer.id, row));
            }
            Err(error) => {
                judged.insert(row.index, Err(error));
            }
        }
    }
    for group in groups.into_values() {
        sittings.extend(group.seated(now, judged));
    }
    // In the order of the batch, as if they had come one by one.
    sittings.sort_by_key(|sitting| sitting.rows.first().map(|row| row.index));
    Ok(sittings)
}

/// The sites and parts that rows with a drawer name.
#[derive(Debug)]
struct Known {
    parts: HashMap<String, parts::Model>,
    sites: HashMap<String, (i64, Places)>,
}

impl Known {
    async fn load(db: &impl ConnectionTrait, rows: &[Row]) -> Result<Self, Error> {
        let placed = || rows.iter().filter(|row| row.count.drawer.is_some());
        let parts = placed().map(|row| row.count.part.as_str());
        let parts = store::parts::find_many(db, parts).await?;
        let sites = placed().map(|row| row.count.site.as_deref().unwrap_or(DEFAULT_SITE));
        let mut known = HashMap::new();
        for site in store::sites::find_many(db, sites).await? {
            let places = Places::load(db, &site, parts.iter().map(|part| part.id)).await?;
            known.insert(site.code_key, (site.id, places));
        }
        let parts = parts.into_iter().map(|part| (part.code_key.clone(), part));
        Ok(Self {
            parts: parts.collect(),
            sites: known,
        })
    }

    fn place(&self, count: &NewCount) -> Option<(i64, &Places, &parts::Model)> {
        let site = count.site.as_deref().unwrap_or(DEFAULT_SITE);
        let (site, places) = self.sites.get(&codes::key(site))?;
        Some((*site, places, self.parts.get(&codes::key(&count.part))?))
    }
}

impl Group {
    /// The one count that the rows make, or a word to each of why they make none.
    fn seated(mut self, now: DateTime<Utc>, judged: &mut ByPlace) -> Option<Sitting> {
        self.refuse_twice(judged);
        if let Some(fault) = self.fault(now) {
            for (_, row) in self.rows {
                judged.insert(row.index, Err(Error::Invalid(vec![fault.clone()])));
            }
            return None;
        }
        let rows: Vec<Row> = self.rows.iter().map(|(_, row)| row.clone()).collect();
        let newest = rows.iter().max_by_key(|row| at(row, now))?;
        let count = NewCount {
            counted: rows.iter().map(|row| row.count.counted).sum(),
            at: newest.count.at,
            device_at: newest.count.device_at,
            drawer: None,
            note: self.note(),
            ..rows.first()?.count.clone()
        };
        Some(Sitting { rows, count })
    }

    /// Takes out the rows of a drawer that is counted more than once: nobody can say which holds.
    fn refuse_twice(&mut self, judged: &mut ByPlace) {
        let rows = std::mem::take(&mut self.rows);
        let mut times: HashMap<i64, usize> = HashMap::new();
        for (drawer, _) in &rows {
            *times.entry(*drawer).or_default() += 1;
        }
        for (drawer, row) in rows {
            if times.get(&drawer) == Some(&1) {
                self.rows.push((drawer, row));
                continue;
            }
            let why = format!(
                "{} in drawer {} is counted more than once in this batch; send one figure for it",
                self.part.code,
                row.count.drawer.as_deref().unwrap_or_default(),
            );
            judged.insert(row.index, Err(Error::invalid("/drawer", why)));
        }
    }

    /// Why the rows do not make a count of the part.
    fn fault(&self, now: DateTime<Utc>) -> Option<Violation> {
        let counted = |drawer: &&drawers::Model| self.rows.iter().any(|it| it.0 == drawer.id);
        let missing: Vec<_> = self.lies.iter().filter(|it| !counted(it)).collect();
        if !missing.is_empty() {
            let why = format!(
                "{} lies in {} too, whose count is missing from this batch or was refused; count \
                 all its drawers together",
                self.part.code,
                listed(missing)
            );
            return Some(Violation::new("/drawer", why));
        }
        let instants = || self.rows.iter().map(|(_, row)| at(row, now));
        let (first, last) = (instants().min()?, instants().max()?);
        if last - first > APART {
            let why = format!(
                "the drawers of {} were counted more than a day apart, from {first} to {last}; \
                 count them on one day",
                self.part.code
            );
            return Some(Violation::new("/at", why));
        }
        // At most as many rows as a batch has, each within the bounds: this cannot overflow.
        let sum: i64 = self.rows.iter().map(|(_, row)| row.count.counted).sum();
        (sum > QUANTITY_MAX).then(|| {
            let why = format!("{sum} in all drawers is out of range; give 0 to {QUANTITY_MAX}");
            Violation::new("/counted", why)
        })
    }

    /// What was counted where, so that the sum can be taken apart again.
    fn note(&self) -> Option<String> {
        let first = self
            .rows
            .first()
            .and_then(|(_, row)| row.count.note.clone());
        if self.rows.len() < 2 {
            return first;
        }
        let told = self.rows.iter().map(|(_, row)| {
            let drawer = row.count.drawer.as_deref().unwrap_or_default();
            format!("drawer {drawer}: {}", row.count.counted)
        });
        let told: Vec<String> = told.chain(first).collect();
        Some(told.join(", "))
    }
}

impl Sitting {
    fn alone(row: Row) -> Self {
        let count = row.count.clone();
        Self {
            rows: vec![row],
            count,
        }
    }
}

/// When a row was counted; now, unless it says.
fn at(row: &Row, now: DateTime<Utc>) -> DateTime<Utc> {
    row.count.at.map_or(now, |at| at.to_utc())
}
