//! Forecasts of records that others collected: whether they are calibrated, and whether they lose less than the
//! simple methods do.

use domain::track_record::{
    ByExposure, Method, PINBALL_CHANCES, Period, Plan, Score, TrackRecord, judge, track_record,
};
use domain::wear::Gamma;
use domain::wear::discounted::ByCalendar;

/// Rows of whole numbers below a heading; the columns asked for by their place.
fn rows<const N: usize>(text: &str, columns: [usize; N]) -> Vec<[u64; N]> {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        columns.map(|column| cells[column].parse().expect("a whole number"))
    };
    text.lines().skip(1).map(row).collect()
}

fn sera() -> Vec<Period> {
    let history: Vec<Period> = rows(include_str!("data/immune_sera_monthly.csv"), [1])
        .into_iter()
        .map(|[used]| Period {
            exposure: 1.0,
            used,
        })
        .collect();
    assert_eq!(history.len(), 204);
    history
}

/// Of each engine, in the order of the record: for how many days it was watched, and on which days a valve seat
/// was replaced.
fn engines() -> Vec<(u64, Vec<u64>)> {
    let mut engines = Vec::new();
    let mut days = Vec::new();
    for [day, status] in rows(include_str!("data/valve_seat_replacements.csv"), [1, 2]) {
        if status == 1 {
            days.push(day);
        } else {
            engines.push((day, std::mem::take(&mut days)));
        }
    }
    let replaced: usize = engines.iter().map(|(_, days)| days.len()).sum();
    assert_eq!((engines.len(), replaced), (41, 48));
    engines
}

/// As an exposure: hundreds of days.
fn hundreds(days: u64) -> f64 {
    f64::from(u32::try_from(days).expect("days")) / 100.0
}

/// Each engine as a period, forecast from those before it.
fn by_engine() -> Vec<Period> {
    let period = |(watched, days): (u64, Vec<u64>)| Period {
        exposure: hundreds(watched),
        used: u64::try_from(days.len()).expect("a few"),
    };
    engines().into_iter().map(period).collect()
}

/// The whole fleet, thirty days of service after thirty days, forecast from those before.
fn by_age() -> Vec<Period> {
    let engines = engines();
    let stretch = |start: u64| {
        let end = start + 30;
        let at_risk = |watched: &u64| watched.min(&end).saturating_sub(start);
        let in_it = |days: &Vec<u64>| days.iter().filter(|day| (start..end).contains(day)).count();
        Period {
            exposure: hundreds(engines.iter().map(|(watched, _)| at_risk(watched)).sum()),
            used: u64::try_from(engines.iter().map(|(_, days)| in_it(days)).sum::<usize>())
                .expect("a few"),
        }
    };
    let history: Vec<Period> = (0..570).step_by(30).map(stretch).collect();
    assert_eq!(history.len(), 19);
    history
}

/// A wear rate that stands on next to nothing: half a piece in a hundred days of one engine.
fn vague() -> Gamma {
    Gamma::new(0.5, 1.0).expect("a wear rate")
}

/// A quarter of a piece a month, worth two months.
fn vague_month() -> Gamma {
    Gamma::new(0.5, 2.0).expect("a wear rate")
}

/// Every range holds as often as it promises, as far as so few forecasts can tell: within two standard errors.
fn assert_calibrated(score: &Score, what: &str) {
    for range in score.ranges {
        let off = range.held - range.promised;
        assert!(off.abs() <= 2.0 * range.error, "{what}: {range:?}");
        assert!(range.error < 0.11, "{what} tells nothing: {range:?}");
    }
}

#[test]
fn the_valve_seats_of_the_next_engine_are_forecast_as_often_as_promised() {
    // The engines differ, which the model of uneven use learns from them; the exposure is the days of each.
    let plan = Plan { ahead: 1, first: 1 };
    let score = judge(&by_engine(), ByCalendar::new(vague()), plan).expect("a score");
    assert_eq!(score.forecasts, 40);
    assert_calibrated(&score, "by engine");
}

#[test]
fn one_rate_for_engines_that_differ_is_told_to_be_too_sure() {
    let plan = Plan { ahead: 1, first: 1 };
    let score = judge(&by_engine(), ByExposure::new(vague()), plan).expect("a score");
    assert!(
        score
            .ranges
            .iter()
            .all(|range| range.held < range.promised - range.error)
    );
    let ends = score.calibration[0] + score.calibration[9];
    assert!(
        ends > 0.25,
        "the ends are not high: {:?}",
        score.calibration
    );
}

#[test]
fn the_valve_seats_of_the_next_month_are_forecast_as_often_as_promised() {
    let score = judge(
        &by_age(),
        ByExposure::new(vague()),
        Plan { ahead: 1, first: 1 },
    );
    let score = score.expect("a score");
    assert_eq!(score.forecasts, 18);
    assert_calibrated(&score, "by age");
}

fn sera_record(first: u32) -> TrackRecord {
    let plan = Plan { ahead: 1, first };
    track_record(&sera(), ByCalendar::new(vague_month()), plan).expect("a track record")
}

#[test]
fn a_record_of_use_now_and_then_is_forecast_with_less_loss_than_by_the_simple_methods() {
    let record = sera_record(Plan::USUAL.first);
    assert_eq!(record.own.forecasts, 192);
    for (place, chance) in PINBALL_CHANCES.into_iter().enumerate() {
        let own = record.own.pinball[place];
        for method in [Method::Croston, Method::SyntetosBoylan, Method::Tsb] {
            let found = record.references.iter().find(|(of, _)| *of == method);
            let loss = found.expect("a reference").1.pinball[place];
            assert!(
                own <= loss,
                "at {chance}: {own}, {} {loss}",
                method.as_str()
            );
        }
    }
}

#[test]
fn a_record_of_use_now_and_then_is_forecast_as_often_as_promised() {
    assert_calibrated(&sera_record(Plan::USUAL.first).own, "immune sera");
}
