//! What the shop has learned of a part: its starting assumption, its own record, and what follows
//! from both for a piece of work of a given size.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::assumption::{self, starting_assumption};
use domain::exposure::Driver;
use domain::part::{PartKind, PartSpec};
use domain::predictive::NegativeBinomial;
use domain::size::{Diameter, RodLength};
use domain::wear::length::{Budget, Losses, STUB_LARGE};
use domain::wear::{Evidence, Gamma, JobSize, NoEvidence, Rung, choose};
use sea_orm::ConnectionTrait;

use types::DEFAULT_GROUP;

use super::known::{self, View};
use super::{Error, instant, parts};
use crate::store;
use crate::store::entity::{parts as part_rows, sites, starting_assumptions, wear};

mod amount;
mod currents;
pub mod lives;

pub use amount::{Paper, grain_of};
pub use currents::{Asked as CurrentAsked, AtCurrent, Currents};

/// More sites than any shop has.
const SITES_MAX: u64 = 500;

/// What a forecast that stands on the length of a rod says of itself.
const BY_LENGTH: &str = "starting assumption, by the length of the rod";

/// Whose record is asked, and when.
#[derive(Clone, Copy, Debug)]
pub struct Whose<'a> {
    /// The site.
    pub site: i64,
    /// Operator group.
    pub group: &'a str,
    /// What is known, and the instant up to which weeks are counted.
    pub view: View,
}

/// The records of some parts.
#[derive(Debug)]
pub struct Records {
    assumptions: Vec<starting_assumptions::Model>,
    /// Of all groups.
    wear: Vec<wear::Model>,
    group: String,
    now: DateTime<Utc>,
    /// The shortest rod that is still used at the site.
    stub_um: i64,
}

/// What follows for one part and one piece of work.
#[derive(Clone, Debug)]
pub struct Learned {
    /// The rung of evidence it stands on.
    pub rung: Rung,
    /// What wear is counted by.
    pub driver: Driver,
    /// The starting assumption.
    pub assumption: Gamma,
    /// Whose assumption it is.
    pub assumption_source: &'static str,
    /// The record.
    pub evidence: Evidence,
    /// Since when there is one.
    pub since: Option<DateTime<Utc>>,
    /// The wear rate that follows from both.
    pub wear: Gamma,
    /// The size of the work, by the driver.
    pub to_come: f64,
    /// Use over the work.
    pub uses: NegativeBinomial,
    /// How much one piece of evidence stands for: 1 for pieces, a cylinder or a tube of what is
    /// measured.
    pub grain: i64,
    /// The paper that the assumption is from, in words.
    pub paper: Option<String>,
    /// Where the current of the work is named and the record tells it apart.
    pub current: Option<Box<AtCurrent>>,
    /// What the lives of an electrode say, where they were asked.
    pub lives: Option<Box<lives::Known>>,
}

impl Records {
    /// Reads the records of those parts.
    pub async fn load(
        db: &impl ConnectionTrait,
        parts: &[part_rows::Model],
        whose: Whose<'_>,
    ) -> Result<Self, Error> {
        let assumptions = store::parts::assumptions(db, parts.iter().map(|part| part.id)).await?;
        let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
        let wear = known::wear(db, whose.view, (whose.site, &ids)).await?;
        let site = store::sites::get_many(db, [whose.site]).await?.pop();
        Ok(Self {
            assumptions,
            wear,
            group: whose.group.to_owned(),
            now: whose.view.at,
            stub_um: site.as_ref().map_or(STUB_LARGE.um, stub_of),
        })
    }

    /// The record of a part, and since when there is one.
    pub fn evidence(&self, part: i64) -> (Evidence, Option<DateTime<Utc>>) {
        let of_group = |row: &&wear::Model| row.operator_group == self.group;
        let Some(row) = self.of_part(part).find(of_group) else {
            return (Evidence::default(), None);
        };
        let since = row.first_at.map(instant::from_micros);
        let weeks = since.map_or(0.0, |since| weeks_between(since, self.now));
        // A rate by the week is not read off less than one: the first day would pass for all.
        let weeks = if weeks < 1.0 { 0.0 } else { weeks };
        let evidence = Evidence {
            events: row.events,
            counted: row.events_counted,
            arc_seconds: row.arc_seconds,
            counter_seconds: row.arc_counter_seconds,
            cylinder_seconds: row.arc_cylinder_seconds,
            grinds: row.grinds,
            weeks,
            student_days: row.student_days,
        };
        (evidence, since)
    }

    /// The record of a part, by group.
    fn of_part(&self, part: i64) -> impl Iterator<Item = &wear::Model> {
        self.wear.iter().filter(move |row| row.part_id == part)
    }

    /// The starting assumption of a part, and whose it is.
    fn assumed(
        &self,
        part: &part_rows::Model,
        driver: Driver,
    ) -> Result<(Gamma, &'static str), Error> {
        assumed(part, driver, (&self.assumptions, self.stub_um))
    }

    /// What follows for a piece of work.
    ///
    /// # Errors
    /// [`NoEvidence`] inside: what to log or give. Outside: a fault of ours.
    pub fn learn(
        &self,
        part: &part_rows::Model,
        size: &JobSize,
    ) -> Result<Result<Learned, NoEvidence>, Error> {
        let (evidence, since) = self.evidence(part.id);
        let (rung, driver) = match choose(&evidence, size) {
            Ok(chosen) => chosen,
            Err(none) => return Ok(Err(none)),
        };
        let (assumption, assumption_source) = self.assumed(part, driver)?;
        let fault =
            |error: &dyn std::error::Error| Error::Internal(format!("{}: {error}", part.code));
        let wear = assumption
            .posterior(evidence.used(), evidence.exposure(driver))
            .map_err(|error| fault(&error))?;
        let to_come = size.exposure(driver).unwrap_or_default();
        let uses = wear.predictive(to_come).map_err(|error| fault(&error))?;
        Ok(Ok(Learned {
            rung,
            driver,
            assumption,
            assumption_source,
            evidence,
            since,
            wear,
            to_come,
            uses,
            grain: 1,
            paper: None,
            current: None,
            lives: None,
        }))
    }
}

/// The starting assumption of an electrode of known length: how many grinds its rod pays for. The
/// shop's own record goes before it, as before any.
fn by_length(part: &part_rows::Model, driver: Driver, stub_um: i64) -> Option<Gamma> {
    let is_electrode = part.kind == PartKind::Electrode.as_str();
    if !is_electrode || driver != Driver::Grinds {
        return None;
    }
    let diameter = Diameter::from_um(part.diameter_um?)?;
    let length = RodLength::from_um(part.length_um?).ok()?;
    let budget = Budget::new(length, stub_um).ok()?;
    let loss = Losses::starter(diameter).per_logged_grind_um();
    budget.assumption(loss).ok()
}

/// The starting assumption of a part, and whose it is: the shop's own, else by the length of the rod and
/// the shortest that is still used at the site, else the built-in one.
pub fn assumed(
    part: &part_rows::Model,
    driver: Driver,
    (assumptions, stub_um): (&[starting_assumptions::Model], i64),
) -> Result<(Gamma, &'static str), Error> {
    if let Some(own) = parts::own_assumption(assumptions, part.id, driver) {
        return Ok((own, "the shop's own"));
    }
    if let Some(by_length) = by_length(part, driver, stub_um) {
        return Ok((by_length, BY_LENGTH));
    }
    let kind = PartKind::parse(&part.kind).map_err(|error| Error::Internal(error.to_string()))?;
    Ok((starting_assumption(kind, driver), assumption::LABEL))
}

/// The shortest rod that is still used at a site, in micrometres.
pub fn stub_of(site: &sites::Model) -> i64 {
    site.discard_um.unwrap_or(STUB_LARGE.um)
}

/// How many pieces of each part the shop's own group uses in an arc hour, over all its sites; without
/// the parts for which no arc time is logged.
pub async fn own_rates(
    db: &impl ConnectionTrait,
    parts: &[part_rows::Model],
    view: View,
) -> Result<HashMap<i64, f64>, Error> {
    let mut found: HashMap<i64, f64> = HashMap::new();
    let mut all = Vec::new();
    for site in store::sites::list(db, None, SITES_MAX).await? {
        let whose = Whose {
            site: site.id,
            group: DEFAULT_GROUP,
            view,
        };
        all.push(Records::load(db, parts, whose).await?);
    }
    for part in parts {
        let mut sum = Evidence::default();
        for records in &all {
            let (evidence, _) = records.evidence(part.id);
            // Use over no arc time says nothing of a rate by it.
            if evidence.arc_seconds <= 0 {
                continue;
            }
            sum.events += evidence.events;
            sum.arc_seconds += evidence.arc_seconds;
        }
        let hours = sum.exposure(Driver::ArcTime);
        if let Some(records) = all.first().filter(|_| hours > 0.0) {
            let (assumed, _) = records.assumed(part, Driver::ArcTime)?;
            let rate = assumed.posterior(sum.used(), hours);
            let rate = rate.map_err(|error| Error::Internal(format!("{}: {error}", part.code)))?;
            found.insert(part.id, rate.mean());
        }
    }
    Ok(found)
}

/// Weeks from one instant to another, none if it is not later.
fn weeks_between(since: DateTime<Utc>, now: DateTime<Utc>) -> f64 {
    let week = chrono::TimeDelta::weeks(1).as_seconds_f64();
    ((now - since).as_seconds_f64() / week).max(0.0)
}

impl Learned {
    /// So much of the driver is on record.
    pub fn over(&self) -> f64 {
        self.evidence.exposure(self.driver)
    }

    /// A use or an exposure, as evidence weighs it.
    fn grains(&self, of: f64) -> f64 {
        match self.grain {
            1 => of,
            grain => of / grain_as_real(grain),
        }
    }

    /// The share of the shop's own data, 0 to 1.
    pub fn own_share(&self) -> f64 {
        if let Some(current) = &self.current {
            return self.assumption.own_data_share(current.rate.over());
        }
        self.assumption.own_data_share(self.grains(self.over()))
    }

    /// Where the figures come from, in one sentence.
    pub fn says(&self) -> String {
        let (over, used) = (short(self.over()), self.evidence.used());
        if let Some(paper) = &self.paper {
            return if used == 0 {
                format!("From {paper}, taken to be right within 20 %.")
            } else {
                format!("From {paper}, and from what you drew over {over} arc hours.")
            };
        }
        if let Some(current) = &self.current {
            let (rate, counted) = (&current.rate, self.driver.plural());
            return format!(
                "From {} {counted} of yours that count for this work: {} used. {}",
                short(rate.over()),
                rate.used(),
                current.told.says
            );
        }
        if self.rung == Rung::Assumption {
            return format!(
                "No history yet. Starting assumption: {} per {} {}.",
                short(self.assumption.shape()),
                short(self.assumption.rate()),
                self.driver.plural(),
            );
        }
        let weeks = if self.driver == Driver::Weeks {
            "weeks on record"
        } else {
            self.driver.plural()
        };
        if used == 0 || self.own_share() < 0.5 {
            return format!("From {over} {weeks} of yours and the starting assumption.");
        }
        let (no_arc, no_grinds) = (self.evidence.arc_seconds == 0, self.evidence.grinds == 0);
        let note = if self.rung == Rung::Grinds && no_arc {
            " No arc hours; forecast is per grind."
        } else if self.rung == Rung::Withdrawals && no_arc && no_grinds {
            " No arc hours and no grinds; forecast is per week."
        } else if self.rung == Rung::Counts {
            " Use is known from counts only; forecast is per week."
        } else if self.rung == Rung::CylinderSwap {
            " Arc hours are known from cylinder swaps; leaks and purging make them a wide estimate."
        } else {
            ""
        };
        format!("From your {over} {weeks}: {used} used.{note}")
    }

    /// How to redo it on paper.
    pub fn how(&self) -> String {
        if let Some(current) = &self.current {
            return current.how(self);
        }
        let lives = self.lives.as_ref().map(|lives| format!(" {}", lives.how()));
        format!(
            "Used {} + {} over {} + {} {}: {} each. Over {} to come that is {} on average; \
             the spread is negative binomial with size {} and p = {} / ({} + {}).{}",
            short(self.assumption.shape()),
            short(self.grains(real(self.evidence.used()))),
            short(self.assumption.rate()),
            short(self.grains(self.over())),
            self.driver.plural(),
            short(self.wear.mean()),
            short(self.to_come),
            short(self.uses.mean()),
            short(self.wear.shape()),
            short(self.wear.rate()),
            short(self.wear.rate()),
            short(self.to_come),
            lives.unwrap_or_default(),
        )
    }
}

/// A count as floating point, exact as far as quantities go.
#[expect(clippy::cast_precision_loss, reason = "quantities end far below 2^53")]
fn real(count: u64) -> f64 {
    count as f64
}

fn grain_as_real(grain: i64) -> f64 {
    real(u64::try_from(grain.max(1)).unwrap_or(1))
}

/// A number with three significant digits, or whole if it is large.
pub fn short(number: f64) -> String {
    let digits = if number.abs() >= 100.0 {
        0
    } else if number.abs() >= 10.0 {
        1
    } else if number.abs() >= 1.0 {
        2
    } else {
        3
    };
    let text = format!("{number:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A chance as a whole percentage that never claims certainty.
pub fn percent(chance: f64) -> String {
    let whole = (chance * 100.0).round();
    if whole >= 100.0 && chance < 1.0 {
        "over 99 %".to_owned()
    } else if whole < 1.0 && chance > 0.0 {
        "under 1 %".to_owned()
    } else {
        format!("{whole:.0} %")
    }
}

/// Whether a part wears with use in a torch, and so belongs in the chance of a job.
pub fn is_worn(spec: &PartSpec) -> bool {
    spec.kind().is_fitted()
}
