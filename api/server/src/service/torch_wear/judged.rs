//! What the record of one torch and one part comes to: the reading, the alarm, what explains it, and what
//! became of a repair. How it is said is in `words`.

use std::collections::HashSet;

use chrono::Datelike;
use domain::exposure::Driver;
use domain::torch_wear::{
    Episode, Findings, FollowUp, Grinding, LIMIT_MAX, Outcome, Pace, Reading, Verdict, Window,
    WorkDay, grinding, scan, verdict, window,
};
use domain::wear::Gamma;

use super::changes::Change;
use super::record::{Record, Row, Selection, count};
use crate::service::learned::short;
use crate::service::{Error, instant};
use crate::store::entity::parts as part_rows;

/// How far back start days are looked at.
const BACK_DAYS: i64 = 26 * 7;

/// One torch, to be held against the others.
pub(super) struct Judge<'a> {
    pub(super) record: &'a Record,
    pub(super) torch: i64,
    /// Its set-ups, oldest first.
    pub(super) changes: &'a [Change],
    /// The number of the day that it is looked at.
    pub(super) today: i64,
    /// How fast each group is, learned on the other torches.
    pub(super) factors: &'a [Option<f64>],
}

/// A change after the torch had become fast.
pub(super) struct Repair<'a> {
    pub(super) change: &'a Change,
    pub(super) before: Window,
    pub(super) follow_up: FollowUp,
    /// Exposure since, in the unit of the part.
    pub(super) over: f64,
}

/// What the record comes to.
pub(super) struct Judged<'a> {
    pub(super) driver: Driver,
    pub(super) assumed: Gamma,
    /// The others' rate, their pieces, and their effective exposure.
    pub(super) others: Gamma,
    pub(super) others_used: u64,
    pub(super) others_over: f64,
    pub(super) verdict: Verdict,
    /// The window that is told.
    pub(super) window: Window,
    pub(super) reading: Reading,
    /// The day of the check that raised the alarm which stands.
    pub(super) raised_on: Option<i64>,
    pub(super) grinding: Grinding,
    pub(super) paces: (Pace, Pace),
    pub(super) repair: Option<Repair<'a>>,
    /// The work in the window.
    pub(super) rows: Vec<&'a Row>,
}

/// Both readings of some work: each group by its pace, and all as if they worked alike.
struct Readings {
    by_group: Reading,
    alike: Reading,
    /// The window that is told: of the reading that is over the limit, else all of the work.
    told: Window,
}

impl<'a> Judge<'a> {
    /// What the record of a part comes to, or why nothing can be said; with a first day, that of the window
    /// from it on.
    pub(super) fn part(
        &self,
        part: &part_rows::Model,
        since: Option<i64>,
    ) -> Result<Result<Judged<'a>, String>, Error> {
        let driver = match self.comparable(part.id) {
            Ok(driver) => driver,
            Err(why) => return Ok(Err(why.to_owned())),
        };
        let assumed = self.record.assumed(part, driver)?;
        let all = self.selection(part.id, driver);
        let (others_used, others_over) = self.record.others(all, self.factors);
        if !is_enough(assumed, others_over) {
            let (over, units) = (short(others_over), driver.plural());
            let why = format!(
                "the other torches of the site have {over} {units} with it on record, fewer than the {} that \
                 the starting assumption is worth; log more of their work",
                short(assumed.rate())
            );
            return Ok(Err(why));
        }
        let others = posterior(assumed, (others_used, others_over))?;
        let repair = self.repair(all, &others)?;
        let mended = repair
            .as_ref()
            .filter(|it| it.follow_up.outcome == Outcome::LooksNormal);
        let since_repair = mended.map(|repair| self.set_ups(|at| at >= repair.change.at));
        let now = Selection {
            set_ups: since_repair.as_ref(),
            ..all
        };
        let readings = self.readings(now, (&others, since))?;
        let (by_group, window) = (readings.by_group, readings.told);
        let episode = self.episode(now, assumed)?;
        let in_window = Selection {
            from: window.start,
            ..now
        };
        let rows = self.record.of(part.id).iter();
        let rows = rows.filter(|row| in_window.has(row));
        let rows: Vec<&Row> = rows.collect();
        let paces = (pace(rows.iter().copied()), self.others_pace(part.id));
        let found = Findings {
            all: readings.alike,
            by_group,
            // Ten pieces need no second reading, so they need not wait for the next check either.
            alarm: episode.raised_on().is_some() || by_group.is_large(),
            left_out: rows.iter().any(|row| self.factors[row.group].is_none()),
            grinding: grinding(paces.0, paces.1),
        };
        Ok(Ok(Judged {
            driver,
            assumed,
            others,
            others_used,
            others_over,
            verdict: verdict(&found),
            window,
            reading: since.map_or(by_group, |_| fixed(window)),
            raised_on: episode.raised_on(),
            grinding: found.grinding,
            paces,
            repair,
            rows,
        }))
    }

    /// What the torch and the others have in common, or why they cannot be compared.
    fn comparable(&self, part: i64) -> Result<Driver, &'static str> {
        let driver = self.record.driver(self.torch, part).ok_or(
            "no arc hours and no grinds are on record with it both for this torch and for another of its \
             site; log them with the torch",
        )?;
        if self.factors.iter().all(Option::is_none) {
            return Err(
                "the other torches of the site used fewer than 5 pieces on record, all parts together; log \
                 what is taken with its torch",
            );
        }
        Ok(driver)
    }

    fn readings(
        &self,
        now: Selection<'_>,
        (others, since): (&Gamma, Option<i64>),
    ) -> Result<Readings, Error> {
        let days = self.record.days(now, self.factors);
        let alike_days = self.record.days(now, &vec![Some(1.0); self.factors.len()]);
        let (by_group, alike) = (read(&days, others)?, read(&alike_days, others)?);
        let (told, days) = match (by_group.is_over(), alike.is_over()) {
            (false, true) => (alike.strongest, alike_days),
            (true, _) => (by_group.strongest, days),
            (false, false) => (None, days),
        };
        let first = || days.first().map_or(self.today, |day| day.day);
        let told = match (since, told) {
            (Some(day), _) => from(&days, day, others)?,
            (None, Some(told)) => told,
            (None, None) => from(&days, first(), others)?,
        };
        Ok(Readings {
            by_group,
            alike,
            told,
        })
    }

    fn selection(&self, part: i64, driver: Driver) -> Selection<'static> {
        Selection {
            torch: self.torch,
            part,
            driver,
            from: self.today - BACK_DAYS + 1,
            until: self.today + 1,
            set_ups: None,
        }
    }

    /// The set-ups that were fitted at instants of which something holds.
    fn set_ups(&self, is_meant: impl Fn(i64) -> bool) -> HashSet<i64> {
        let these = self.changes.iter().filter(|change| is_meant(change.at));
        these.map(|change| change.set_up).collect()
    }

    /// The newest change with new parts before which the torch was over the limit, and what was used since.
    fn repair(&self, all: Selection<'_>, others: &Gamma) -> Result<Option<Repair<'a>>, Error> {
        let changes = self.changes.iter().skip(1).rev();
        for change in changes.take_while(|change| change.day >= all.from) {
            if change.new.is_empty() {
                continue;
            }
            let earlier = self.set_ups(|at| at < change.at);
            let earlier = Selection {
                set_ups: Some(&earlier),
                ..all
            };
            let reading = read(&self.record.days(earlier, self.factors), others)?;
            let Some(before) = reading
                .strongest
                .filter(|it| reading.is_over() && it.start <= change.day)
            else {
                continue;
            };
            let later = self.set_ups(|at| at >= change.at);
            let later = Selection {
                set_ups: Some(&later),
                ..all
            };
            let days = self.record.days(later, self.factors);
            let used = days.iter().map(|day| day.used).sum();
            let over: f64 = days.iter().map(|day| day.exposure).sum();
            let follow_up = FollowUp::new(&before, (used, over), others)
                .map_err(|error| Error::Internal(error.to_string()))?;
            return Ok(Some(Repair {
                change,
                before,
                follow_up,
                over,
            }));
        }
        Ok(None)
    }

    /// The weekly checks up to now: on Mondays, of what happened before.
    fn episode(&self, now: Selection<'_>, assumed: Gamma) -> Result<Episode, Error> {
        let today = instant::day_of(self.today);
        let monday = self.today - i64::from(today.weekday().num_days_from_monday());
        let mut episode = Episode::default();
        for weeks in (0..BACK_DAYS / 7).rev() {
            let day = monday - 7 * weeks;
            let before = Selection {
                from: day - BACK_DAYS,
                until: day,
                ..now
            };
            let others = self.record.others(before, self.factors);
            if !is_enough(assumed, others.1) {
                continue;
            }
            let others = posterior(assumed, others)?;
            let reading = read(&self.record.days(before, self.factors), &others)?;
            episode.check(day, &reading);
        }
        Ok(episode)
    }

    fn others_pace(&self, part: i64) -> Pace {
        let rows = self.record.of(part).iter();
        pace(rows.filter(|row| row.torch != self.torch))
    }
}

/// Grinds over arc time, of work.
fn pace<'r>(rows: impl Iterator<Item = &'r Row>) -> Pace {
    let (mut grinds, mut hours) = (0, 0.0);
    for row in rows {
        grinds += row.grinds;
        hours += row.hours;
    }
    Pace {
        grinds: count(grinds),
        hours,
    }
}

/// Whether at least half of what is known of the others is their own record. A torch that is held against
/// little more than a starting assumption would be blamed for what is wrong with that.
fn is_enough(assumed: Gamma, others_over: f64) -> bool {
    assumed.own_data_share(others_over) >= 0.5
}

fn posterior(assumed: Gamma, (used, over): (u64, f64)) -> Result<Gamma, Error> {
    let known = assumed.posterior(used, over);
    known.map_err(|error| Error::Internal(error.to_string()))
}

fn read(days: &[WorkDay], others: &Gamma) -> Result<Reading, Error> {
    scan(days, others).map_err(|error| Error::Internal(error.to_string()))
}

fn from(days: &[WorkDay], start: i64, others: &Gamma) -> Result<Window, Error> {
    window(days, start, others).map_err(|error| Error::Internal(error.to_string()))
}

/// One window that was fixed beforehand.
fn fixed(window: Window) -> Reading {
    Reading {
        strongest: Some(window),
        windows: 1,
        limit: LIMIT_MAX,
    }
}
