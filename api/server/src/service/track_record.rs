//! The track record: how forecasts of parts did on the shop's own history, beside simple methods. How the
//! history is cut is in `history`, what is said of it in `words`.

use chrono::{DateTime, NaiveDate, Utc};
use domain::exposure::{ArcTime, Driver, Grinds};
use domain::part::PartSpec;
use domain::track_record::{
    ByExposure, Drawn, Plan, Score, TrackRecordError, draw, judge, track_record,
};
use domain::wear::discounted::ByCalendar;
use domain::wear::{JobSize, Rung};
use types::{
    BestMethod, CannotTell, Checker, DEFAULT_GROUP, GetTrackRecord, LossAt, MethodScore,
    PastForecast, RangeScore, StartingAssumption, TrackRecord, TrackRecords, check_group,
};

use super::forecasts::{asked_parts, flag, rung, whole};
use super::known::{self, View};
use super::learned::{Learned, Records, Whose};
use super::{Context, Error, codes, instant, parts};
use crate::store::entity::{parts as part_rows, wear_days};

mod history;
mod words;

use history::{History, Length};

/// The most periods that one forecast is over.
const AHEAD_MAX: i64 = 12;
/// The name of the service's own forecasts among the methods.
const OWN: &str = "own";
/// The name of a rate by the week that may change.
const CHANGING: &str = "changing-rate";

/// What is asked, checked.
struct Asked {
    length: Length,
    ahead: u32,
    group: String,
    view: View,
    explain: bool,
}

/// A part whose forecasts are to be judged.
struct Judged {
    code: String,
    spec: PartSpec,
    learned: Learned,
    history: History,
}

/// How the forecasts of the parts that are asked for did.
pub async fn get(context: &Context, query: &GetTrackRecord) -> Result<TrackRecords, Error> {
    let db = context.store.read();
    let asked = checked(query, context.clock.now())?;
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let parts = asked_parts(context, query.part.as_deref(), asked.view).await?;
    let whose = Whose {
        site: site.id,
        group: &asked.group,
        view: asked.view,
    };
    let records = Records::load(db, &parts, whose).await?;
    let zone = instant::site_zone(&site.zone);
    let today = asked.view.at.with_timezone(&zone).date_naive();
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let earliest = asked.length.earliest(today) - NaiveDate::default();
    let days = known::wear_days(db, asked.view, (site.id, &ids), earliest.num_days()).await?;
    let (mut judged, mut cannot_tell) = (Vec::new(), Vec::new());
    for part in &parts {
        let since = |at: DateTime<Utc>| at.with_timezone(&zone).date_naive();
        let of_part = days
            .iter()
            .filter(|row| row.part_id == part.id && row.operator_group == asked.group);
        let of_part: Vec<&wear_days::Model> = of_part.collect();
        match enough(part, &records, (&of_part, &since, today), &asked)? {
            Ok(part) => judged.push(part),
            Err(why) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why,
            }),
        }
    }
    let (length, ahead, explain) = (asked.length, asked.ahead, asked.explain);
    let assumes = words::assumes(judged.iter().map(|part| part.learned.driver), length, ahead);
    // Hundreds of forecasts a part, of which there may be hundreds: not on a thread that answers others.
    let told = tokio::task::spawn_blocking(move || {
        let each = judged.iter();
        each.map(|part| record(part, (length, ahead), explain))
            .collect::<Result<Vec<_>, TrackRecordError>>()
    });
    let told = told
        .await
        .map_err(|error| Error::Internal(error.to_string()))?;
    Ok(TrackRecords {
        as_of: asked.view.at,
        stands_for: asked.view.says(),
        site: site.code,
        group: asked.group,
        period: length.as_str().to_owned(),
        ahead,
        records: told.map_err(|error| Error::Internal(error.to_string()))?,
        cannot_tell,
        assumes,
    })
}

/// The track record of one part with each of its forecasts, for a chart.
pub async fn get_one(context: &Context, query: &GetTrackRecord) -> Result<TrackRecords, Error> {
    let named = query.part.as_deref().unwrap_or_default();
    let codes = named.split(',').filter(|code| !code.trim().is_empty());
    if codes.count() != 1 {
        let why = format!("\"{named}\" is not one part; a chart is of one, so give its code");
        return Err(Error::invalid("?part", why));
    }
    // What is neither 1 nor 0 is left for `get` to refuse.
    let explain = match flag(query.explain.as_deref()) {
        Ok(_) => Some("1".to_owned()),
        Err(_) => query.explain.clone(),
    };
    let query = GetTrackRecord {
        explain,
        ..query.clone()
    };
    get(context, &query).await
}

fn checked(query: &GetTrackRecord, present: DateTime<Utc>) -> Result<Asked, Error> {
    let mut checker = Checker::default();
    let length = checker.take("period", Length::parse(query.period.as_deref()));
    let ahead = query.ahead.unwrap_or(1);
    if !(1..=AHEAD_MAX).contains(&ahead) {
        let why = format!("{ahead} is out of range; give 1 to {AHEAD_MAX} periods");
        checker.note("ahead", why);
    }
    let explain = checker.take("explain", flag(query.explain.as_deref()));
    check_group(query.group.as_deref(), &mut checker);
    checker.finish().map_err(Error::in_query)?;
    let past = (query.as_of.as_deref(), query.known.as_deref());
    let view = View::planned(past, query.now.as_deref(), present)?;
    let group = query.group.as_deref().unwrap_or(DEFAULT_GROUP);
    Ok(Asked {
        length: length.unwrap_or(Length::Week),
        ahead: u32::try_from(ahead).unwrap_or(1),
        group: group.to_owned(),
        view,
        explain: explain.unwrap_or(false),
    })
}

/// A part with its history, or why there is nothing to judge yet.
fn enough(
    part: &part_rows::Model,
    records: &Records,
    (days, day_of, today): (
        &[&wear_days::Model],
        &dyn Fn(DateTime<Utc>) -> NaiveDate,
        NaiveDate,
    ),
    asked: &Asked,
) -> Result<Result<Judged, String>, Error> {
    let (_, since) = records.evidence(part.id);
    let Some(since) = since.map(day_of) else {
        return Ok(Err(words::nothing_logged()));
    };
    let learned = match records.learn(part, &by_any_driver()?)? {
        Ok(learned) if learned.rung != Rung::Assumption => learned,
        // Something was logged, less than a week ago.
        Ok(_) | Err(_) => return Ok(Err(words::too_short(0, asked.length, asked.ahead))),
    };
    let history = History::of(days, learned.driver, (since, today), asked.length);
    let needed = Plan::USUAL.first.saturating_add(asked.ahead);
    let there = u32::try_from(history.periods.len()).unwrap_or(u32::MAX);
    if there < needed {
        return Ok(Err(words::too_short(there, asked.length, asked.ahead)));
    }
    Ok(Ok(Judged {
        code: part.code.clone(),
        spec: parts::spec(part)?,
        learned,
        history,
    }))
}

/// A piece of work that is sized by every driver, so that the best that is logged of a part is chosen.
fn by_any_driver() -> Result<JobSize, Error> {
    let fault = |error: &dyn std::error::Error| Error::Internal(error.to_string());
    Ok(JobSize {
        arc: Some(ArcTime::from_seconds(3_600).map_err(|error| fault(&error))?),
        grinds: Some(Grinds::new(1).map_err(|error| fault(&error))?),
        weeks: Some(1.0),
        student_days: Some(1),
    })
}

fn record(
    part: &Judged,
    (length, ahead): (Length, u32),
    explain: bool,
) -> Result<TrackRecord, TrackRecordError> {
    let plan = Plan {
        ahead,
        ..Plan::USUAL
    };
    let (learned, history) = (&part.learned, &part.history);
    let periods = &history.periods;
    // What a forecast stands on: the starting assumption, and everything before it.
    let own = ByExposure::new(learned.assumption);
    let judged = track_record(periods, own, plan)?;
    let drawn = draw(periods, own, plan)?;
    let mut methods: Vec<MethodScore> = judged
        .references
        .iter()
        .map(|(method, score)| method_score(method.as_str(), score, ahead))
        .collect();
    if learned.driver == Driver::Weeks {
        let changing = judge(periods, ByCalendar::new(learned.assumption), plan)?;
        methods.push(method_score(CHANGING, &changing, ahead));
    }
    let own = method_score(OWN, &judged.own, ahead);
    let idle = |it: &&Drawn| it.exposure <= 0.0;
    let without = drawn.iter().filter(idle).count();
    let used_without = drawn.iter().filter(idle).filter(|it| it.used > 0).count();
    let with_use = drawn.iter().filter(|it| it.used > 0).count();
    let mut record = TrackRecord {
        part: part.code.clone(),
        name: part.spec.describe(),
        driver: learned.driver.as_str().to_owned(),
        rung: rung(learned),
        assumption: StartingAssumption {
            per: learned.driver.as_str().to_owned(),
            shape: learned.assumption.shape(),
            rate: learned.assumption.rate(),
        },
        assumption_source: learned.assumption_source.to_owned(),
        from: history.from,
        to: last_day(history.from, length, count(periods.len())),
        periods: count(periods.len()),
        forecasts: judged.own.forecasts,
        without_exposure: count(without),
        used_without_exposure: count(used_without),
        with_use: count(with_use),
        verdict: words::verdict(&own, judged.own.forecasts, count(with_use)).to_owned(),
        best: best(&own, &methods),
        own,
        methods,
        says: String::new(),
        each: explain.then(|| each(&drawn, history.from, (length, ahead))),
    };
    record.says = words::says(&record, part, (length, ahead));
    Ok(record)
}

fn method_score(method: &str, score: &Score, ahead: u32) -> MethodScore {
    let ranges = score.ranges.iter().map(|range| RangeScore {
        promised: range.promised,
        held: range.held,
        // Forecasts over h periods share h - 1 of them with the next: the variance of their mean is up to h
        // times that of as many that share nothing.
        error: range.error * f64::from(ahead).sqrt(),
        in_whole_pieces: range.in_whole_pieces,
    });
    let losses = domain::track_record::PINBALL_CHANCES
        .iter()
        .zip(score.pinball)
        .map(|(chance, loss)| LossAt {
            chance: *chance,
            loss,
        });
    MethodScore {
        method: method.to_owned(),
        name: words::name_of(method).to_owned(),
        ranges: ranges.collect(),
        calibration: score.calibration.to_vec(),
        losses: losses.collect(),
    }
}

/// The method with the least loss at each chance; the service's own where none has less.
fn best(own: &MethodScore, methods: &[MethodScore]) -> Vec<BestMethod> {
    let places = own.losses.iter().enumerate();
    let best = places.map(|(place, loss)| {
        let mut best = (loss.loss, own);
        for method in methods {
            if method.losses[place].loss < best.0 {
                best = (method.losses[place].loss, method);
            }
        }
        BestMethod {
            chance: loss.chance,
            method: best.1.method.clone(),
        }
    });
    best.collect()
}

fn each(drawn: &[Drawn], from: NaiveDate, (length, ahead): (Length, u32)) -> Vec<PastForecast> {
    let each = drawn.iter().map(|it| {
        let begin = length.after(from, count(it.at));
        PastForecast {
            from: begin,
            to: last_day(begin, length, ahead),
            exposure: it.exposure,
            low: whole(it.low),
            median: whole(it.median),
            high: whole(it.high),
            used: whole(it.used),
            held: it.held(),
        }
    });
    each.collect()
}

/// The last day of so many periods.
fn last_day(begin: NaiveDate, length: Length, periods: u32) -> NaiveDate {
    let next = length.after(begin, periods);
    next.pred_opt().unwrap_or(next)
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
