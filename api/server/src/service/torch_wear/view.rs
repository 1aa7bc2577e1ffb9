//! What was found of a torch and a part, as the contract shows it. What it comes to was decided before.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use domain::advice::Polarity;
use domain::part::PartKind;
use domain::torch_wear::{Check, Evidence, Outcome, Ratio, Sign, Verdict, ranked};
use domain::wear::Gamma;
use types::{
    TorchChange, TorchCheck, TorchFollowUp, TorchGrinds, TorchGroup, TorchPartWear, TorchRatio,
    TorchWearExplanation,
};

use super::changes::Change;
use super::judged::{Judged, Repair};
use super::record::{Record, real};
use super::words::{self, About};
use super::{Asked, Course};
use crate::service::forecasts::whole;
use crate::service::learned::short;
use crate::service::{Error, instant, parts};
use crate::store::entity::parts as part_rows;

/// Parts that are changed so many days before it begins are named.
const NEAR_DAYS: i64 = 3;
/// An entry of so many pieces may be a pack.
const LARGE_ENTRY: i64 = 5;

/// A torch and a part, with what was found.
pub(super) struct Found<'a> {
    pub(super) torch: &'a str,
    pub(super) part: &'a part_rows::Model,
    pub(super) record: &'a Record,
    pub(super) factors: &'a [Option<f64>],
    pub(super) changes: &'a [Change],
    pub(super) judged: &'a Judged<'a>,
    /// The courses of the site from the first day that is looked at.
    pub(super) courses: &'a [Course],
    /// Whether work in the window was logged above the shop's own band of current.
    pub(super) above_band: bool,
}

impl Found<'_> {
    /// The same for the wire.
    pub(super) fn view(&self, asked: &Asked) -> Result<TorchPartWear, Error> {
        let judged = self.judged;
        let kind =
            PartKind::parse(&self.part.kind).map_err(|error| Error::Internal(error.to_string()))?;
        let window = judged.window;
        let ratio = self.ratio()?;
        let over: f64 = judged
            .rows
            .iter()
            .map(|row| row.exposure(judged.driver))
            .sum();
        let raw = (judged.others_used > 0 && window.exposure > 0.0).then(|| {
            let others = real(whole(judged.others_used)) / judged.others_over;
            real(whole(window.used)) / window.exposure / others
        });
        let about = About {
            torch: self.torch,
            kind,
            plural: judged.driver.plural(),
            window,
            over,
            times: raw,
            ratio,
        };
        let state = self.state();
        let pace = judged.paces.0.per_hour().zip(judged.paces.1.per_hour());
        Ok(TorchPartWear {
            part: self.part.code.clone(),
            name: parts::spec(self.part)?.describe(),
            state: state.to_owned(),
            says: self.says(&about),
            since: instant::day_of(window.start),
            used: whole(window.used),
            over,
            per: judged.driver.as_str().to_owned(),
            expected: window.expected,
            tail: window.tail,
            limit: judged.reading.limit,
            windows: whole(judged.reading.windows),
            raised_on: judged.raised_on.map(instant::day_of),
            times: raw,
            ratio: TorchRatio {
                low: ratio.quantile(0.05),
                median: ratio.quantile(0.5),
                high: ratio.quantile(0.95),
            },
            groups: self.groups(),
            grinds_per_hour: pace.map(|(torch, others)| TorchGrinds { torch, others }),
            changed: self.near().into_iter().map(changed).collect(),
            checks: if self.is_checked(state) {
                self.checks(kind, asked.grey_tip)
            } else {
                Vec::new()
            },
            follow_up: judged
                .repair
                .as_ref()
                .map(|repair| followed(repair, judged.driver.plural())),
            explain: asked.explain.then(|| self.explanation()),
        })
    }

    fn ratio(&self) -> Result<Ratio, Error> {
        let judged = self.judged;
        let own: Result<Gamma, _> = judged
            .assumed
            .posterior(judged.window.used, judged.window.exposure);
        let own = own.map_err(|error| Error::Internal(error.to_string()))?;
        Ok(Ratio::new(own, judged.others))
    }

    fn state(&self) -> &'static str {
        let outcome = self.judged.repair.as_ref().map(|it| it.follow_up.outcome);
        match (outcome, self.judged.verdict) {
            (Some(Outcome::TooEarly), _) => "repaired",
            (_, Verdict::Normal) => "normal",
            (_, Verdict::High) => "high",
            (_, Verdict::Alarm) => "alarm",
            (_, Verdict::Explained) => "explained",
            (_, Verdict::Untold) => "untold",
        }
    }

    /// A list of checks is only known for electrodes.
    fn is_checked(&self, state: &str) -> bool {
        let is_electrode = self.part.kind == PartKind::Electrode.as_str();
        is_electrode && ["alarm", "high", "untold", "repaired"].contains(&state)
    }

    fn says(&self, about: &About<'_>) -> Vec<String> {
        let judged = self.judged;
        let mut says = Vec::new();
        if let Some(repair) = &judged.repair {
            let followed = words::followed(&repair.follow_up, judged.driver.plural());
            match (repair.follow_up.outcome, judged.verdict) {
                (Outcome::TooEarly, _) | (Outcome::LooksNormal, Verdict::Normal) => {
                    return vec![followed];
                }
                // It was mended, and something new began since.
                (Outcome::LooksNormal, _) => {}
                (Outcome::StillFast, _) => says.push(followed),
            }
        }
        match judged.verdict {
            Verdict::Normal => says.push(about.normal()),
            Verdict::High => {
                says.push(about.fast());
                says.push(self.began(about.kind));
                let next = "One reading over the limit: the next weekly check decides.";
                says.push(next.to_owned());
            }
            Verdict::Alarm => {
                says.push(about.fast());
                says.push(self.began(about.kind));
            }
            Verdict::Explained => {
                says.push(about.plain());
                says.push(self.explained());
            }
            Verdict::Untold => {
                says.push(about.plain());
                let (group, used) = self.most(true);
                says.push(words::untold(&group, used, judged.window.used));
            }
        }
        says
    }

    fn began(&self, kind: PartKind) -> String {
        let start = self.judged.window.start;
        let near = self.near().into_iter().next_back();
        let near = near.map(|change| (change, start - change.day));
        let began = words::began(instant::day_of(start), near);
        if kind == PartKind::Electrode {
            let ground = words::ground(self.judged.grinding, self.judged.paces);
            return format!("{began} {ground}");
        }
        began
    }

    fn explained(&self) -> String {
        let (group, used) = self.most(true);
        let course = self
            .courses_in_window()
            .find(|course| course.group == group);
        match course {
            Some(course) => words::by_course(course.first, course.last),
            None => words::by_group(&group, used, self.judged.window.used),
        }
    }

    /// The group that used most in the window, with its pieces: of those that do not work like the rest,
    /// if there are any.
    fn most(&self, unlike: bool) -> (String, i64) {
        let groups = self.groups();
        let is_unlike = |group: &&TorchGroup| group.factor.is_none_or(|it| it > 1.0);
        let these = groups.iter().filter(|group| !unlike || is_unlike(group));
        let most = these
            .max_by_key(|group| group.used)
            .or_else(|| groups.first());
        most.map_or_else(Default::default, |it| (it.group.clone(), it.used))
    }

    fn courses_in_window(&self) -> impl Iterator<Item = &Course> {
        let start: NaiveDate = instant::day_of(self.judged.window.start);
        self.courses
            .iter()
            .filter(move |course| course.last >= start)
    }

    fn groups(&self) -> Vec<TorchGroup> {
        let mut sums: BTreeMap<usize, (i64, f64)> = BTreeMap::new();
        for row in &self.judged.rows {
            let sum = sums.entry(row.group).or_default();
            sum.0 += row.used;
            sum.1 += row.exposure(self.judged.driver);
        }
        let group = |(group, (used, over)): (usize, (i64, f64))| TorchGroup {
            group: self.record.groups[group].clone(),
            used: used.max(0),
            over,
            factor: self.factors[group],
        };
        sums.into_iter().map(group).collect()
    }

    /// What was changed shortly before it began, oldest first.
    fn near(&self) -> Vec<&Change> {
        let start = self.judged.window.start;
        let near = self.changes.iter().skip(1).filter(|change| {
            !change.new.is_empty() && (start - NEAR_DAYS..=start).contains(&change.day)
        });
        // A repair on the day it began comes after, not before.
        let repair = self
            .judged
            .repair
            .as_ref()
            .map(|repair| repair.change.set_up);
        near.filter(|change| Some(change.set_up) != repair)
            .collect()
    }

    fn checks(&self, kind: PartKind, grey_tip: bool) -> Vec<TorchCheck> {
        let rows = &self.judged.rows;
        let mut signs = Vec::new();
        if self.above_band {
            signs.push(Sign::AboveBand);
        }
        if rows.iter().any(|row| row.largest >= LARGE_ENTRY) {
            signs.push(Sign::LargeEntry);
        }
        if self.courses_in_window().next().is_some() {
            signs.push(Sign::Course);
        }
        if grey_tip {
            signs.push(Sign::GreyTip);
        }
        let evidence = Evidence {
            changed: self.near().into_iter().flat_map(Change::kinds).collect(),
            polarity: self.polarity(),
            signs,
        };
        let diameter = self
            .part
            .diameter_um
            .filter(|_| kind == PartKind::Electrode);
        let diameter = diameter.and_then(domain::size::Diameter::from_um);
        let check = |(number, ranked): (i64, domain::torch_wear::Ranked)| {
            let says = match (ranked.check, diameter) {
                (Check::Current, Some(diameter)) => {
                    format!("Current: within the band you set for {diameter}.")
                }
                (check, _) => check.text().to_owned(),
            };
            TorchCheck {
                number,
                check: ranked.check.as_str().to_owned(),
                says,
                because: words::because(&ranked.reasons),
            }
        };
        (1..).zip(ranked(&evidence)).map(check).collect()
    }

    /// The polarity that most hours in the window were logged with.
    fn polarity(&self) -> Option<Polarity> {
        let hours = |polarity: Polarity| -> f64 {
            let rows = self.judged.rows.iter();
            let rows = rows.filter(|row| row.polarity == Some(polarity));
            rows.map(|row| row.hours).sum()
        };
        let all: f64 = self.judged.rows.iter().map(|row| row.hours).sum();
        let told = Polarity::ALL.iter().copied();
        told.into_iter()
            .find(|polarity| hours(*polarity) > all / 2.0)
    }

    fn explanation(&self) -> TorchWearExplanation {
        let judged = self.judged;
        let (assumed, others, window) = (judged.assumed, judged.others, judged.window);
        let how = format!(
            "Others: {} + {} used over {} + {} {}: {} each. Over {} that is {} on average; P(N >= {}) is negative \
             binomial with size {} and p = {} / ({} + {}). The limit allows for {} start days and for weekly \
             looks.",
            short(assumed.shape()),
            judged.others_used,
            short(assumed.rate()),
            short(judged.others_over),
            judged.driver.plural(),
            short(others.mean()),
            short(window.exposure),
            short(window.expected),
            window.used,
            short(others.shape()),
            short(others.rate()),
            short(others.rate()),
            short(window.exposure),
            judged.reading.windows,
        );
        TorchWearExplanation {
            assumed_shape: assumed.shape(),
            assumed_rate: assumed.rate(),
            others_used: whole(judged.others_used),
            others_over: judged.others_over,
            shape: others.shape(),
            rate: others.rate(),
            how,
        }
    }
}

fn changed(change: &Change) -> TorchChange {
    TorchChange {
        at: instant::from_micros(change.at),
        parts: change.codes(),
    }
}

fn followed(repair: &Repair<'_>, plural: &str) -> TorchFollowUp {
    let found = &repair.follow_up;
    let outcome = match found.outcome {
        Outcome::LooksNormal => "looks normal",
        Outcome::StillFast => "still fast",
        Outcome::TooEarly => "too early",
    };
    TorchFollowUp {
        at: instant::from_micros(repair.change.at),
        parts: repair.change.codes(),
        outcome: outcome.to_owned(),
        before_used: whole(repair.before.used),
        before_over: repair.before.exposure,
        used: whole(found.used),
        over: repair.over,
        expected: found.expected,
        as_few_if_normal: found.as_few_if_normal,
        as_few_if_unchanged: found.as_few_if_unchanged,
        says: words::followed(found, plural),
    }
}
