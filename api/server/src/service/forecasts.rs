//! Forecasts of single parts: how many will be used, what to keep, and when it runs out.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, Utc};
use domain::advice::Polarity;
use domain::exposure::{ArcTime, Driver, Grinds};
use domain::forecast::{self, Target};
use domain::ledger::Level;
use domain::wear::JobSize;
use domain::wear::factors::WorkRate;
use types::{
    CannotTell, Checker, DEFAULT_GROUP, Explanation, Forecast, Forecasts, GetForecasts, RunOut,
    Rung, StartingAssumption, TARGET_DEFAULT, check_group,
};

use super::known::{self, View};
use super::learned::{CurrentAsked, Currents, Learned, Records, Whose, lives, percent, short};
use super::ledger::book;
use super::{Context, Error, codes, instant, parts, site_rules, torches};
use crate::store;
use crate::store::entity::{parts as part_rows, sites};

/// How many parts one call may ask for.
const PARTS_MAX: usize = 200;
const DAYS_PER_WEEK: f64 = 7.0;
/// A pace is not read off a shorter record: the first busy day would pass for every day.
const WEEKS_LEAST: f64 = 2.0;

/// What is asked, checked.
struct Asked {
    size: JobSize,
    target: Target,
    pace_per_day: Option<f64>,
    cover_days: Option<i64>,
    group: String,
    view: View,
    explain: bool,
    current: CurrentAsked,
    /// The torch of the work.
    torch: Option<i64>,
}

/// The forecasts that are asked for.
pub async fn get(context: &Context, query: &GetForecasts) -> Result<Forecasts, Error> {
    let db = context.store.read();
    let mut asked = checked(query, context.clock.now())?;
    if let Some(torch) = &query.torch {
        asked.torch = Some(codes::named_torch(db, "?torch", torch).await?.id);
    }
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let parts = asked_parts(context, query.part.as_deref(), asked.view).await?;
    let whose = Whose {
        site: site.id,
        group: &asked.group,
        view: asked.view,
    };
    let records = Records::load(db, &parts, whose).await?;
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let levels = known::levels(db, asked.view, (site.id, &ids)).await?;
    let currents = if asked.current.is_any() {
        None
    } else {
        Some(Currents::load(db, asked.view, (site.id, &ids), asked.current).await?)
    };
    let mut forecasts = Vec::with_capacity(parts.len());
    let mut cannot_tell = Vec::new();
    for part in &parts {
        let level = levels.get(&part.id).copied().unwrap_or_default();
        let level = book::level(&level, part, &site);
        match records.learn(part, &asked.size)? {
            Ok(learned) => {
                let at = currents
                    .as_ref()
                    .map(|currents| currents.learn(part, (&records, &learned), &asked.group));
                let (learned, note) = match at.transpose()? {
                    None => {
                        let known = lives::of(db, (part, &learned), whose, asked.torch).await?;
                        (learned.with_lives(known), None)
                    }
                    Some(Ok(at)) => (learned.at_current(at)?, None),
                    Some(Err(why)) => (learned, Some(why)),
                };
                let mut told = forecast(part, &learned, level, (&asked, &site))?;
                if let Some(why) = note {
                    told.says = format!("{} {why}", told.says);
                }
                forecasts.push(told);
            }
            Err(none) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why: none.to_string(),
            }),
        }
    }
    Ok(Forecasts {
        as_of: asked.view.at,
        stands_for: asked.view.says(),
        site: site.code,
        group: asked.group,
        forecasts,
        cannot_tell,
    })
}

/// The parts of those codes, with commas between them; all that are fitted in torches unless told.
pub(super) async fn asked_parts(
    context: &Context,
    told: Option<&str>,
    view: View,
) -> Result<Vec<part_rows::Model>, Error> {
    let db = context.store.read();
    let Some(told) = told else {
        let all = store::torches::list(db, None, u64::MAX >> 1).await?;
        let ids: Vec<i64> = all.iter().map(|torch| torch.id).collect();
        let fitted = torches::fitted_at(db, &ids, view.past()).await?;
        let fitted: BTreeSet<i64> = fitted.into_values().flatten().collect();
        let mut parts = store::parts::get_many(db, fitted).await?;
        parts.sort_by(|a, b| a.code_key.cmp(&b.code_key));
        return Ok(parts);
    };
    let told: Vec<&str> = told
        .split(',')
        .map(str::trim)
        .filter(|code| !code.is_empty())
        .collect();
    if told.is_empty() || told.len() > PARTS_MAX {
        let why = format!(
            "{} codes; give 1 to {PARTS_MAX}, with commas between them",
            told.len()
        );
        return Err(Error::invalid("?part", why));
    }
    codes::named_parts(db, &told, |_| "?part".to_owned()).await
}

fn checked(query: &GetForecasts, present: DateTime<Utc>) -> Result<Asked, Error> {
    let mut checker = Checker::default();
    let arc = checker.take_opt("arc", query.arc.as_deref(), ArcTime::parse);
    let grinds = checker.take_opt("grinds", query.grinds.as_ref(), |grinds| {
        Grinds::new(*grinds)
    });
    let pace = checker.take_opt("pace", query.pace.as_deref(), ArcTime::parse);
    if query
        .weeks
        .is_some_and(|weeks| !(0.1..=520.0).contains(&weeks))
    {
        checker.note("weeks", "is out of range; give 0.1 to 520 normal weeks");
    }
    if query
        .cover_days
        .is_some_and(|days| !(1..=3_650).contains(&days))
    {
        checker.note("cover_days", "is out of range; give 1 to 3650 days");
    }
    if pace.is_some_and(|pace| pace.seconds() == 0) {
        checker.note(
            "pace",
            "is zero; give the arc time of a usual week, such as 6h",
        );
    }
    if query.arc.is_none() && query.grinds.is_none() && query.weeks.is_none() {
        checker.note(
            "arc",
            "missing; give what is to come as arc, grinds or weeks",
        );
    }
    let explain = checker
        .take("explain", flag(query.explain.as_deref()))
        .unwrap_or(false);
    check_group(query.group.as_deref(), &mut checker);
    if let Some(amps) = query.amps {
        checker.range("amps", amps, 1, 2_000);
    }
    let polarity = checker.take_opt("polarity", query.polarity.as_deref(), Polarity::parse);
    let target = checker.take(
        "target",
        Target::new(query.target.unwrap_or(TARGET_DEFAULT)),
    );
    checker.finish().map_err(Error::in_query)?;
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::planned(past, query.now.as_deref(), present)?;
    let Some(target) = target else {
        return Err(Error::Invalid(Vec::new()));
    };
    Ok(Asked {
        size: JobSize {
            arc,
            grinds,
            weeks: query.weeks,
            ..JobSize::default()
        },
        target,
        pace_per_day: pace.map(|pace| pace.hours() / DAYS_PER_WEEK),
        cover_days: query.cover_days,
        group: query
            .group
            .clone()
            .unwrap_or_else(|| DEFAULT_GROUP.to_owned()),
        view,
        explain,
        current: CurrentAsked {
            amps: query.amps,
            polarity,
        },
        torch: None,
    })
}

/// A flag of a query: 1 or 0.
pub(super) fn flag(word: Option<&str>) -> Result<bool, String> {
    match word {
        None | Some("0" | "false") => Ok(false),
        Some("1" | "true") => Ok(true),
        Some(other) => Err(format!("\"{other}\" is neither 1 nor 0")),
    }
}

fn forecast(
    part: &part_rows::Model,
    learned: &Learned,
    level: Level,
    (asked, site): (&Asked, &sites::Model),
) -> Result<Forecast, Error> {
    let needed = whole(learned.needed(asked.target));
    let available = level.usable();
    let held_because = site_rules::held_because(site, site_rules::of_part(site, part));
    let chance = learned.enough(u64::try_from(available).unwrap_or(0));
    let pace = pace_per_day(learned, asked);
    let order_point = pace
        .zip(asked.cover_days)
        .map(|(pace, days)| order_point(learned, pace, days, asked.target));
    let start = asked
        .view
        .at
        .with_timezone(&instant::site_zone(&site.zone))
        .date_naive();
    let run_out = pace.map(|pace| run_out(learned, available, (pace, start)));
    let held = held_because.as_deref();
    let held = held.map_or_else(String::new, |because| {
        format!(" What is there is held: {because}.")
    });
    let says = format!(
        "{} Expect {} over {} {}; for {} keep {needed}, {available} available: {} of having enough.{held}{}",
        learned.says(),
        short(learned.expected()),
        short(learned.to_come),
        learned.driver.plural(),
        percent(asked.target.get()),
        percent(chance),
        learned.says_of_lives(asked.target),
    );
    Ok(Forecast {
        part: part.code.clone(),
        name: parts::spec(part)?.describe(),
        expected: learned.expected(),
        target: asked.target.get(),
        need: needed,
        available,
        held_because,
        chance,
        rung: rung(learned),
        own_share: learned.own_share(),
        order_point: order_point.transpose()?,
        run_out: run_out.transpose()?,
        lives: learned.lives.as_ref().map(|known| known.told.clone()),
        current: learned.current.as_ref().map(|current| current.told.clone()),
        says,
        explain: asked.explain.then(|| explanation(learned)),
    })
}

/// The driver's usual amount in a day: as told, else by the shop's own log.
fn pace_per_day(learned: &Learned, asked: &Asked) -> Option<f64> {
    let own = || {
        let weeks = learned.evidence.weeks;
        (weeks >= WEEKS_LEAST).then(|| learned.over() / weeks / DAYS_PER_WEEK)
    };
    let pace = match learned.driver {
        Driver::ArcTime => asked.pace_per_day.or_else(own),
        Driver::Grinds | Driver::StudentDays => own(),
        Driver::Weeks => Some(1.0 / DAYS_PER_WEEK),
    };
    pace.filter(|pace| *pace > 0.0)
}

fn order_point(learned: &Learned, pace: f64, days: i64, target: Target) -> Result<i64, Error> {
    let days = f64::from(u16::try_from(days).unwrap_or(u16::MAX));
    if let Some(known) = learned.by_lives() {
        return Ok(whole(known.over(pace * days)?.quantile(target.get())));
    }
    let uses = learned
        .wear
        .predictive(pace * days)
        .map_err(|error| Error::Internal(error.to_string()))?;
    Ok(whole(forecast::reorder_point(&uses, target)))
}

/// When what is available runs out at a pace in a day, from a day on.
fn run_out(
    learned: &Learned,
    available: i64,
    (pace, start): (f64, NaiveDate),
) -> Result<RunOut, Error> {
    let Some(known) = learned.by_lives() else {
        let dates = forecast::run_out(&learned.wear, available, pace, start);
        return Ok(RunOut {
            early: dates.early,
            median: dates.median,
            late: dates.late,
        });
    };
    super::run_out::dates(available, (start, forecast::HORIZON_DAYS), |last, days| {
        Ok(known.over(pace * f64::from(days))?.sf(last))
    })
}

/// A count as the contract has it.
pub(super) fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// The rung as the contract has it.
pub(super) fn rung(learned: &Learned) -> Rung {
    Rung {
        number: learned.rung.number(),
        name: learned.rung.as_str().to_owned(),
    }
}

fn explanation(learned: &Learned) -> Explanation {
    let at_current = learned.current.as_ref().map(|current| &current.rate);
    Explanation {
        assumption: StartingAssumption {
            per: learned.driver.as_str().to_owned(),
            shape: learned.assumption.shape(),
            rate: learned.assumption.rate(),
        },
        assumption_source: learned.assumption_source.to_owned(),
        used: whole(at_current.map_or(learned.evidence.used(), WorkRate::used)),
        over: at_current.map_or(learned.over(), WorkRate::over),
        shape: learned.wear.shape(),
        rate: learned.wear.rate(),
        to_come: learned.to_come,
        since: learned.since,
        how: learned.how(),
    }
}
