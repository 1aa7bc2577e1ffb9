//! What is on record of the torches of a site: who worked with which part on which day, and what was used.
//! What it comes to for one torch is in `judged`.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use chrono_tz::Tz;
use domain::advice::Polarity;
use domain::assumption::starting_assumption;
use domain::exposure::Driver;
use domain::ledger::MovementKind;
use domain::part::PartKind;
use domain::review::{Day, share_out};
use domain::torch_wear::WorkDay;
use domain::wear::Gamma;
use domain::wear::factors::{self, Observation};
use sea_orm::ConnectionTrait;

use crate::service::{Error, instant, parts};
use crate::store;
use crate::store::entity::{parts as part_rows, starting_assumptions};
use crate::store::past::Facts;
use crate::store::torch_wear::Asked;

/// Days of the others' record that a torch is held against.
const RECORD_DAYS: i64 = 364;

/// What one group did in one set-up of a torch with one part on one day.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) torch: i64,
    pub(super) set_up: Option<i64>,
    pub(super) part: i64,
    /// Which group, from 0.
    pub(super) group: usize,
    pub(super) day: i64,
    pub(super) hours: f64,
    pub(super) grinds: i64,
    /// Pieces taken less pieces put back.
    pub(super) used: i64,
    pub(super) polarity: Option<Polarity>,
    pub(super) amps: i64,
    /// Pieces in the largest entry.
    pub(super) largest: i64,
}

impl Row {
    /// Exposure by a driver.
    pub(super) fn exposure(&self, driver: Driver) -> f64 {
        match driver {
            Driver::ArcTime => self.hours,
            Driver::Grinds => real(self.grinds),
            Driver::Weeks | Driver::StudentDays => 0.0,
        }
    }
}

/// The record of the torches of a site.
pub(super) struct Record {
    pub(super) parts: Vec<part_rows::Model>,
    pub(super) groups: Vec<String>,
    /// By part.
    rows: Vec<Row>,
    assumptions: Vec<starting_assumptions::Model>,
}

/// Which work of one torch with one part.
#[derive(Clone, Copy)]
pub(super) struct Selection<'a> {
    pub(super) torch: i64,
    pub(super) part: i64,
    pub(super) driver: Driver,
    /// From this day on.
    pub(super) from: i64,
    /// Before this day.
    pub(super) until: i64,
    /// Only in these set-ups, if any are named.
    pub(super) set_ups: Option<&'a HashSet<i64>>,
}

impl Selection<'_> {
    pub(super) fn has(&self, row: &Row) -> bool {
        let in_set_ups = self
            .set_ups
            .is_none_or(|these| row.set_up.is_some_and(|set_up| these.contains(&set_up)));
        row.torch == self.torch
            && row.part == self.part
            && (self.from..self.until).contains(&row.day)
            && in_set_ups
    }
}

impl Record {
    /// Reads the record of those torches and parts up to a day, by what is known.
    pub(super) async fn load(
        db: &impl ConnectionTrait,
        (torches, parts): (&[i64], Vec<part_rows::Model>),
        (zone, today, facts): (Tz, i64, Facts),
    ) -> Result<Self, Error> {
        let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
        let assumptions = store::parts::assumptions(db, ids.iter().copied()).await?;
        let start = instant::start_of_day(instant::day_of(today - RECORD_DAYS), zone);
        let asked = Asked {
            torches,
            parts: &ids,
            since: start.timestamp_micros(),
            facts,
        };
        let kinds = MovementKind::ALL
            .iter()
            .filter(|kind| kind.wear_events(1) != 0);
        let kinds: Vec<&str> = kinds.map(|kind| kind.as_str()).collect();
        let worked = store::torch_wear::worked(db, asked).await?;
        let used = store::torch_wear::used(db, asked, &kinds).await?;
        let named = worked.iter().map(|row| row.operator_group.as_str());
        let named = named.chain(used.iter().map(|row| row.operator_group.as_str()));
        let named: BTreeSet<&str> = named.collect();
        let groups: Vec<String> = named.into_iter().map(str::to_owned).collect();
        let number = |name: &str| groups.iter().position(|group| group == name).unwrap_or(0);
        let mut rows = Vec::with_capacity(worked.len() + used.len());
        for row in &worked {
            rows.push(Row {
                torch: row.torch_id,
                set_up: Some(row.set_up_id),
                part: row.part_id,
                group: number(&row.operator_group),
                day: row.day,
                hours: real(row.arc_seconds) / 3_600.0,
                grinds: row.grinds,
                used: 0,
                polarity: row
                    .polarity
                    .as_deref()
                    .and_then(|it| Polarity::parse(it).ok()),
                amps: row.amps.unwrap_or(0),
                largest: 0,
            });
        }
        for row in &used {
            let kind = MovementKind::parse(&row.kind)
                .map_err(|error| Error::Internal(error.to_string()))?;
            rows.push(Row {
                torch: row.torch_id,
                set_up: row.set_up_id,
                part: row.part_id,
                group: number(&row.operator_group),
                day: row.day,
                hours: 0.0,
                grinds: 0,
                used: kind.wear_events(row.quantity),
                polarity: None,
                amps: 0,
                largest: kind.wear_events(row.largest),
            });
        }
        rows.sort_by_key(|row| row.part);
        Ok(Self {
            parts,
            groups,
            rows,
            assumptions,
        })
    }

    /// The work with a part, on all torches.
    pub(super) fn of(&self, part: i64) -> &[Row] {
        let first = self.rows.partition_point(|row| row.part < part);
        let end = self.rows.partition_point(|row| row.part <= part);
        &self.rows[first..end]
    }

    /// What wear of a part is counted by: arc hours if the torch and others have them, else grinds;
    /// nothing if one of the two has neither.
    pub(super) fn driver(&self, torch: i64, part: i64) -> Option<Driver> {
        [Driver::ArcTime, Driver::Grinds]
            .into_iter()
            .find(|driver| {
                let sum = |own: bool| -> f64 {
                    let rows = self.of(part).iter();
                    let rows = rows.filter(|row| (row.torch == torch) == own);
                    rows.map(|row| row.exposure(*driver)).sum()
                };
                sum(true) > 0.0 && sum(false) > 0.0
            })
    }

    /// The starting assumption of a part.
    pub(super) fn assumed(&self, part: &part_rows::Model, driver: Driver) -> Result<Gamma, Error> {
        let kind =
            PartKind::parse(&part.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let own = parts::own_assumption(&self.assumptions, part.id, driver);
        Ok(own.unwrap_or_else(|| starting_assumption(kind, driver)))
    }

    /// How many times as fast each group uses parts, learned from all torches but one; none for a group
    /// that used too few there.
    pub(super) fn factors_without(&self, torch: i64) -> Result<Vec<Option<f64>>, Error> {
        let mut sums: BTreeMap<(usize, usize), (f64, f64, i64)> = BTreeMap::new();
        for row in self.rows.iter().filter(|row| row.torch != torch) {
            let Some(part) = self.parts.iter().position(|part| part.id == row.part) else {
                continue;
            };
            let sum = sums.entry((part, row.group)).or_default();
            sum.0 += row.hours;
            sum.1 += real(row.grinds);
            sum.2 += row.used;
        }
        let mut of_group = vec![0_i64; self.groups.len()];
        let mut has_hours = vec![false; self.parts.len()];
        for ((part, group), (hours, _, used)) in &sums {
            of_group[*group] += (*used).max(0);
            has_hours[*part] |= *hours > 0.0;
        }
        let enough = |group: usize| count(of_group[group]) >= factors::Factor::EVENTS_MIN;
        let (mut observed, mut used_of) = (Vec::new(), vec![0_u64; self.parts.len()]);
        for ((part, group), (hours, grinds, used)) in sums {
            let exposure = if has_hours[part] { hours } else { grinds };
            if enough(group) {
                used_of[part] += count(used);
            }
            observed.push(Observation {
                part,
                levels: vec![group],
                exposures: [exposure.max(0.0), 0.0],
                events: count(used),
            });
        }
        let mut assumed = Vec::with_capacity(self.parts.len());
        for (part, has_hours) in self.parts.iter().zip(has_hours) {
            let driver = if has_hours {
                Driver::ArcTime
            } else {
                Driver::Grinds
            };
            assumed.push(self.assumed(part, driver)?);
        }
        let rate = |part: usize, over: [f64; 2]| {
            let known = assumed[part].posterior(used_of[part], over[0]);
            [known.map_or(0.0, |known| known.mean()), 0.0]
        };
        let learned = factors::learn(&[self.groups.len()], self.parts.len(), &observed, &rate)
            .map_err(|error| Error::Internal(error.to_string()))?;
        let groups = 0..self.groups.len();
        Ok(groups.map(|group| learned.product(&[group])).collect())
    }

    /// What all torches but one used of a part before a day, by groups that have a factor: pieces, and
    /// effective exposure.
    pub(super) fn others(&self, which: Selection<'_>, factors: &[Option<f64>]) -> (u64, f64) {
        let (mut used, mut over) = (0_i64, 0.0);
        let rows = self.of(which.part).iter();
        let rows = rows.filter(|row| row.torch != which.torch && row.day < which.until);
        for row in rows {
            if let Some(factor) = factors[row.group] {
                used += row.used;
                over += factor * row.exposure(which.driver);
            }
        }
        (count(used), over.max(0.0))
    }

    /// The days of some work, each group's exposure times its factor; without those of groups that have
    /// none.
    pub(super) fn days(&self, which: Selection<'_>, factors: &[Option<f64>]) -> Vec<WorkDay> {
        let mut by_group: HashMap<usize, BTreeMap<i64, (f64, i64)>> = HashMap::new();
        for row in self.of(which.part).iter().filter(|row| which.has(row)) {
            if let Some(factor) = factors[row.group] {
                let days = by_group.entry(row.group).or_default();
                let day = days.entry(row.day).or_default();
                day.0 += factor * row.exposure(which.driver);
                day.1 += row.used;
            }
        }
        let mut merged: BTreeMap<i64, WorkDay> = BTreeMap::new();
        for days in by_group.into_values() {
            let net: Vec<i64> = days.values().map(|(_, net)| *net).collect();
            let worked = days.values().map(|(exposure, _)| Day {
                main: exposure.max(0.0),
                ..Day::default()
            });
            let mut worked: Vec<Day> = worked.collect();
            share_out(&mut worked, &net);
            for (day, done) in days.keys().zip(worked) {
                let sum = merged.entry(*day).or_insert(WorkDay {
                    day: *day,
                    exposure: 0.0,
                    used: 0,
                });
                sum.exposure += done.main;
                sum.used += done.used;
            }
        }
        merged.into_values().collect()
    }
}

/// A count that is not below zero; late corrections may take a sum there for a while.
pub(super) fn count(number: i64) -> u64 {
    u64::try_from(number).unwrap_or(0)
}

pub(super) fn real(number: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    let number = number as f64;
    number
}
