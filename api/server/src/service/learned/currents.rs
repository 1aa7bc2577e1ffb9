//! What follows for work at a current that is named: the record by operator group, band of current and polarity,
//! as factors where there is enough of it, else kept apart. Work of any current is in the parent.

use std::collections::BTreeMap;

use domain::advice::{Polarity, Setting};
use domain::class::ElectrodeClass;
use domain::exposure::Driver;
use domain::size::Diameter;
use domain::wear::Gamma;
use domain::wear::factors::{Factor, Observation, WorkRate};
use sea_orm::ConnectionTrait;
use types::{CurrentLevel, ForecastCurrent};

use super::{Learned, Records, short};
use crate::service::current_bands::{self, Own};
use crate::service::known::{self, View};
use crate::service::{Error, parts};
use crate::store::entity::{parts as part_rows, wear, wear_currents};

/// The levels of a band: below it, in it, above it, or not told.
const BANDS: [&str; 4] = ["below", "inside", "above", "not told"];
/// The levels of polarity.
const POLARITIES: [&str; 4] = ["DCEN", "DCEP", "AC", "not told"];
const NOT_TOLD: usize = 3;

/// The current of the work, as far as it is named.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked {
    /// In amperes.
    pub amps: Option<i64>,
    /// Its polarity.
    pub polarity: Option<Polarity>,
}

impl Asked {
    /// Whether nothing is named.
    pub fn is_any(self) -> bool {
        self.amps.is_none() && self.polarity.is_none()
    }
}

/// What is known by current, and the shop's own bands.
#[derive(Debug)]
pub struct Currents {
    asked: Asked,
    rows: Vec<wear_currents::Model>,
    bands: Vec<(Setting, Own)>,
}

/// What is known of work at the current that is named.
#[derive(Clone, Debug)]
pub struct AtCurrent {
    /// The rate it stands on, with the factors.
    pub rate: WorkRate,
    /// What is told of it.
    pub told: ForecastCurrent,
}

/// The axes by which work is told apart: how many levels each has, which level the work is at, and what they are.
struct Axes {
    groups: Vec<String>,
    band: Option<(i64, i64)>,
    by_polarity: bool,
    work: Vec<usize>,
}

/// Of one group: what was used and over what, by band and polarity.
type Cells = BTreeMap<(usize, usize), (i64, f64)>;

impl Currents {
    /// Reads what is known of those parts at a site.
    pub async fn load(
        db: &impl ConnectionTrait,
        view: View,
        (site, parts): (i64, &[i64]),
        asked: Asked,
    ) -> Result<Self, Error> {
        let mut bands = Vec::new();
        if asked.amps.is_some() {
            for setting in Setting::ALL {
                let own = current_bands::of_setting(db, *setting).await?;
                bands.extend(own.into_iter().map(|own| (*setting, own)));
            }
        }
        Ok(Self {
            asked,
            rows: known::wear_currents(db, view, (site, parts)).await?,
            bands,
        })
    }

    /// The band that a current is held against, for a part and a polarity, if they agree on one: that of its
    /// class before that of any.
    fn band(&self, part: &part_rows::Model, polarity: Option<Polarity>) -> Option<(i64, i64)> {
        let diameter = Diameter::from_um(part.diameter_um?)?;
        let class = parts::spec(part).ok().and_then(|spec| spec.class());
        let of = |wanted: Option<ElectrodeClass>| {
            let these = self.bands.iter().filter(move |(setting, own)| {
                own.diameter == diameter
                    && own.class == wanted
                    && polarity.is_none_or(|polarity| setting.polarity() == polarity)
            });
            let mut bands = these.map(|(_, own)| (own.band.low(), own.band.high()));
            let first = bands.next()?;
            bands.all(|band| band == first).then_some(first)
        };
        class.and_then(|class| of(Some(class))).or_else(|| of(None))
    }

    /// What is known of a part in the work, or why the current says nothing of it.
    ///
    /// # Errors
    /// A fault of ours: figures that no check lets in.
    pub fn learn(
        &self,
        part: &part_rows::Model,
        (records, learned): (&Records, &Learned),
        group: &str,
    ) -> Result<Result<AtCurrent, String>, Error> {
        if !matches!(learned.driver, Driver::ArcTime | Driver::Grinds) {
            return Ok(Err(
                "Currents are not told apart: it goes by the week.".to_owned()
            ));
        }
        let axes = match self.axes(part, records, group) {
            Ok(axes) => axes,
            Err(why) => return Ok(Err(why)),
        };
        let (observed, told, used) = self.observed(part, (records, learned.driver), &axes);
        if 2 * told < used {
            return Ok(Err(format!(
                "Currents are not told apart: of {used} used, {told} were logged with theirs."
            )));
        }
        let levels = [axes.groups.len(), BANDS.len(), POLARITIES.len()];
        let fault = |error: &dyn std::error::Error| Error::Internal(error.to_string());
        let rate = WorkRate::learned(&learned.assumption, &levels, &observed, &axes.work)
            .map_err(|error| fault(&error))?;
        let told = self.told(&rate, &axes);
        Ok(Ok(AtCurrent { rate, told }))
    }

    fn axes(
        &self,
        part: &part_rows::Model,
        records: &Records,
        group: &str,
    ) -> Result<Axes, String> {
        let band = self
            .asked
            .amps
            .and_then(|_| self.band(part, self.asked.polarity));
        if self.asked.amps.is_some() && band.is_none() {
            return Err(
                "Currents are not told apart: no band of current is set for its diameter (or none that is the \
                 same for all polarities; name one). Set it with /v1/current-bands."
                    .to_owned(),
            );
        }
        let mut groups: Vec<String> = records
            .of_part(part.id)
            .filter(|row| row.student_days == 0)
            .map(|row| row.operator_group.clone())
            .collect();
        if !groups.iter().any(|known| known == group) {
            groups.push(group.to_owned());
        }
        groups.sort();
        let at = groups.iter().position(|known| known == group);
        let polarity = self.asked.polarity.map(Polarity::as_str);
        let work = vec![
            at.unwrap_or(0),
            level_of_band(band, self.asked.amps.unwrap_or(0)),
            level_of_polarity(polarity.is_some(), polarity.unwrap_or_default()),
        ];
        Ok(Axes {
            groups,
            band,
            by_polarity: polarity.is_some(),
            work,
        })
    }

    /// What was observed at each combination of levels; of the pieces used, those at a level that is told, and
    /// all of them.
    fn observed(
        &self,
        part: &part_rows::Model,
        (records, driver): (&Records, Driver),
        axes: &Axes,
    ) -> (Vec<Observation>, u64, u64) {
        let (mut observed, mut told, mut used) = (Vec::new(), 0, 0);
        for (at, group) in axes.groups.iter().enumerate() {
            let Some(total) = records
                .of_part(part.id)
                .find(|row| row.operator_group == *group && row.student_days == 0)
            else {
                continue;
            };
            let cells = self.cells(total, driver, axes);
            used += pieces(total.events);
            for (level, (events, _)) in &cells {
                let is_told = (axes.band.is_none() || level.0 != NOT_TOLD)
                    && (!axes.by_polarity || level.1 != NOT_TOLD);
                told += if is_told { pieces(*events) } else { 0 };
            }
            for ((band, polarity), (events, exposure)) in shared_out(cells) {
                observed.push(Observation {
                    part: 0,
                    levels: vec![at, band, polarity],
                    exposures: [exposure, 0.0],
                    events,
                });
            }
        }
        (observed, told, used)
    }

    /// The record of a group, by band and polarity; what was logged without a current is what is left.
    fn cells(&self, total: &wear::Model, driver: Driver, axes: &Axes) -> Cells {
        let exposure = |arc: i64, grinds: i64| match driver {
            Driver::Grinds => real(grinds),
            Driver::ArcTime | Driver::Weeks | Driver::StudentDays => real(arc) / 3_600.0,
        };
        let mut cells = Cells::new();
        let (mut events, mut arc, mut grinds) = (total.events, total.arc_seconds, total.grinds);
        let of_group = self.rows.iter().filter(|row| {
            row.part_id == total.part_id && row.operator_group == total.operator_group
        });
        for row in of_group {
            let level = (
                level_of_band(axes.band, row.amps),
                level_of_polarity(axes.by_polarity, &row.polarity),
            );
            let cell = cells.entry(level).or_default();
            cell.0 += row.events;
            cell.1 += exposure(row.arc_seconds, row.grinds);
            events -= row.events;
            arc -= row.arc_seconds;
            grinds -= row.grinds;
        }
        let level = (
            level_of_band(axes.band, 0),
            level_of_polarity(axes.by_polarity, ""),
        );
        let cell = cells.entry(level).or_default();
        cell.0 += events;
        cell.1 += exposure(arc, grinds);
        cells
    }

    fn told(&self, rate: &WorkRate, axes: &Axes) -> ForecastCurrent {
        let mut levels = Vec::new();
        let mut says = Vec::new();
        let names: [(&str, Vec<&str>, bool); 3] = [
            (
                "group",
                axes.groups.iter().map(String::as_str).collect(),
                true,
            ),
            ("band", BANDS.to_vec(), axes.band.is_some()),
            ("polarity", POLARITIES.to_vec(), axes.by_polarity),
        ];
        for (axis, (what, names, _)) in names.iter().enumerate().filter(|(_, it)| it.2) {
            let factors = rate.factors().levels(axis);
            for (level, factor) in names.iter().zip(factors) {
                let used = match factor {
                    Factor::Reference => None,
                    Factor::Apart { events } | Factor::Learned { events, .. } => Some(*events),
                };
                if used == Some(0) {
                    continue;
                }
                levels.push(CurrentLevel {
                    axis: (*what).to_owned(),
                    level: (*level).to_owned(),
                    factor: factor.get(),
                    used: used.and_then(|used| i64::try_from(used).ok()),
                });
            }
            let (at, reference) = (axes.work[axis], reference(factors));
            let compared = (names.get(at), reference.and_then(|at| names.get(at)));
            if let ((Some(at), Some(reference)), Some(factor)) = (compared, factors.get(at))
                && !(*what == "group" && matches!(factor, Factor::Reference))
            {
                says.push(sentence((what, at, reference), *factor, axes.band));
            }
        }
        ForecastCurrent {
            amps: self.asked.amps,
            polarity: self.asked.polarity.map(|it| it.as_str().to_owned()),
            band_amps_min: axes.band.map(|band| band.0),
            band_amps_max: axes.band.map(|band| band.1),
            levels,
            factor: rate.factor(),
            says: says.join(" "),
        }
    }
}

/// The level that others of its axis are compared with.
fn reference(factors: &[Factor]) -> Option<usize> {
    factors
        .iter()
        .position(|factor| *factor == Factor::Reference)
}

/// How a level of the work compares, in words.
fn sentence(
    (axis, level, reference): (&str, &str, &str),
    factor: Factor,
    band: Option<(i64, i64)>,
) -> String {
    let name = |level: &str| match (axis, band, level) {
        ("band", _, "not told") => "at currents that were not told".to_owned(),
        ("band", Some((low, high)), level) => format!("{level} your band of {low} to {high} A"),
        ("polarity", _, "not told") => "at polarities that were not told".to_owned(),
        ("polarity", _, level) => format!("at {level}"),
        (_, _, level) => format!("by {level}"),
    };
    let here = name(level);
    match factor {
        Factor::Reference => format!("Most were used {here}; other work is compared with that."),
        Factor::Apart { events } => format!(
            "Work {here} is kept apart: {events} used in it, and {} are needed to compare it.",
            Factor::EVENTS_MIN
        ),
        Factor::Learned { factor, events } => format!(
            "Work {here} uses {} times as many as {}, from {events} used.",
            short(factor),
            name(reference)
        ),
    }
}

fn level_of_band(band: Option<(i64, i64)>, amps: i64) -> usize {
    match band {
        None => 0,
        Some(_) if amps <= 0 => NOT_TOLD,
        Some((low, _)) if amps < low => 0,
        Some((_, high)) if amps > high => 2,
        Some(_) => 1,
    }
}

fn level_of_polarity(is_axis: bool, polarity: &str) -> usize {
    if !is_axis {
        return 0;
    }
    let known = POLARITIES.iter().position(|known| *known == polarity);
    known.unwrap_or(NOT_TOLD)
}

/// What was used at levels without any exposure is shared out over those with some, by their exposure, since
/// nothing wears without work; a group without any exposure says nothing.
fn shared_out(cells: Cells) -> Vec<((usize, usize), (u64, f64))> {
    let exposed: f64 = cells.values().map(|(_, exposure)| exposure.max(0.0)).sum();
    if exposed <= 0.0 {
        return Vec::new();
    }
    let idle = cells.values().filter(|(_, exposure)| *exposure <= 0.0);
    let idle: i64 = idle.map(|(events, _)| *events).sum();
    let (mut through, mut given) = (0.0, 0.0);
    let mut shared = Vec::new();
    for (level, (events, exposure)) in cells {
        if exposure <= 0.0 {
            continue;
        }
        // Rounding what is given so far leaves nothing over at the last.
        through += exposure;
        let until = (real(idle) * through / exposed).round();
        let more = until - given;
        given = until;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "whole, and no more than idle"
        )]
        let more = more as i64;
        shared.push((level, (pieces(events + more), exposure)));
    }
    shared
}

fn pieces(events: i64) -> u64 {
    u64::try_from(events).unwrap_or(0)
}

fn real(number: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "an exposure, not a quantity")]
    let number = number as f64;
    number
}

impl Learned {
    /// The same for work at a current that is named.
    ///
    /// # Errors
    /// A fault of ours: figures that no check lets in.
    pub fn at_current(mut self, at: AtCurrent) -> Result<Self, Error> {
        let fault = |error: &dyn std::error::Error| Error::Internal(error.to_string());
        self.wear = at.rate.at_work().map_err(|error| fault(&error))?;
        let uses = self.wear.predictive(self.to_come);
        self.uses = uses.map_err(|error| fault(&error))?;
        self.current = Some(Box::new(at));
        Ok(self)
    }
}

impl AtCurrent {
    /// How to redo it on paper.
    pub(super) fn how(&self, learned: &Learned) -> String {
        let (assumed, known): (&Gamma, &Gamma) = (&learned.assumption, self.rate.known());
        let factor = match self.rate.factor() {
            Some(factor) => format!("; this work counts {} times", short(factor)),
            None => " of the same work alone".to_owned(),
        };
        format!(
            "Used {} + {} over {} + {} {}, each times its factors{factor}: {} each. Over {} to come that is {} on \
             average; the spread is negative binomial with size {} and p = {} / ({} + {}), where 1 / size is \
             1 / {} and, for each factor other than 1, 1 / (2 + used).",
            short(assumed.shape()),
            self.rate.used(),
            short(assumed.rate()),
            short(self.rate.over()),
            learned.driver.plural(),
            short(learned.wear.mean()),
            short(learned.to_come),
            short(learned.uses.mean()),
            short(learned.wear.shape()),
            short(learned.wear.rate()),
            short(learned.wear.rate()),
            short(learned.to_come),
            short(known.shape()),
        )
    }
}
