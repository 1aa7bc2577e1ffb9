//! The figures behind the days to come: with them each forecast can be redone. Here it is, by summing negative
//! binomial chances one after the other from what was logged.

use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::{TestServer, instant};
use types::{
    AheadExplanation, AheadSpan, ForecastAhead, GetForecastsAhead, NewOffer, NewPart, NewSupplier,
    NewUsage, NewUsageBatch,
};

/// A Monday.
const NOW: &str = "2026-06-15T08:00:00-03:00";
const ELECTRODE: &str = "WLa20-2.4";
const CUP: &str = "cup-7";

/// An electrode of Gamma(2, 20) and a cup in T1, the one offered by a supplier who takes five open days; 40
/// weeks of 6 arc hours on Monday and 3 on Thursday, with an electrode each Monday.
async fn shop() -> TestServer {
    let server = TestServer::at(NOW).await;
    let part = assuming(electrode(ELECTRODE, "2.4 mm"), "arc-hour", 2.0, 20.0);
    server.stocked(part, 3).await;
    let cup = NewPart {
        code: CUP.to_owned(),
        kind: "cup".to_owned(),
        family: Some("large".to_owned()),
        cup_number: Some(7),
        seat: Some("standard".to_owned()),
        ..NewPart::default()
    };
    server.stocked(cup, 5).await;
    server.torch("T1", &[ELECTRODE, CUP]).await;
    let supplier = NewSupplier {
        code: "quayhead".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 5,
        ..NewSupplier::default()
    };
    let made = server.owner.create_supplier(&supplier).await;
    made.expect("a supplier");
    let offer = NewOffer {
        supplier: "quayhead".to_owned(),
        part: ELECTRODE.to_owned(),
        pack_size: 10,
        price_minor: 4_200,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let mut entries = Vec::new();
    for week in 1..=40 {
        for (day, hours) in [(0, 6), (3, 3)] {
            entries.push(NewUsage {
                arc_minutes: Some(hours * 60),
                ..used(
                    &format!("own-{week}-{day}"),
                    (week, day),
                    (day == 0, ELECTRODE),
                )
            });
        }
    }
    log(&server, entries).await;
    server
}

/// An entry so many weeks ago, on a day of that week, with or without one that was taken.
fn used(id: &str, (weeks, day): (i64, i64), (took, part): (bool, &str)) -> NewUsage {
    let monday = instant(NOW) - chrono::TimeDelta::weeks(weeks);
    NewUsage {
        id: Some(id.to_owned()),
        torch: Some("T1".to_owned()),
        what: took.then(|| "took".to_owned()),
        part: took.then(|| part.to_owned()),
        at: Some((monday + chrono::TimeDelta::days(day)).fixed_offset()),
        ..NewUsage::default()
    }
}

async fn log(server: &TestServer, entries: Vec<NewUsage>) {
    let all = entries.len();
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    let told = told.expect("a batch");
    assert_eq!(usize::try_from(told.recorded), Ok(all), "{told:?}");
}

async fn ask(server: &TestServer, part: &str) -> (ForecastAhead, AheadExplanation) {
    let query = GetForecastsAhead {
        part: Some(part.to_owned()),
        days: Some(28),
        explain: Some("1".to_owned()),
        ..GetForecastsAhead::default()
    };
    let told = server.owner.get_forecasts_ahead(&query).await;
    let mut told = told.expect("a forecast");
    assert_eq!(told.cannot_tell, []);
    let forecast = told.forecasts.remove(0);
    let explained = forecast.explain.clone().expect("it is explained");
    (forecast, explained)
}

/// P(use <= k) of a negative binomial, term by term.
fn at_most(k: i64, shape: f64, mean: f64) -> f64 {
    let (p, q) = (shape / (shape + mean), mean / (shape + mean));
    let (mut term, mut sum) = (p.powf(shape), 0.0);
    for count in 0..=k {
        sum += term;
        let count = f64::from(i32::try_from(count).expect("few"));
        term *= (shape + count) / (count + 1.0) * q;
    }
    sum
}

/// The chance that k are enough, over all spans and cases, from a rate of a / b and the work of the days.
fn enough(k: i64, (a, b): (f64, f64), told: &AheadExplanation, spans: &[AheadSpan]) -> f64 {
    let mut sum = 0.0;
    for span in spans {
        let days = usize::try_from(span.days).expect("days");
        let work: f64 = told.work.iter().take(days).map(|day| day.work[0]).sum();
        for case in &span.cases {
            let times = case.times.expect("of the planned work");
            sum += span.chance * case.chance * at_most(k, a, times * a / b * work);
        }
    }
    sum
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_order_point_can_be_redone_from_the_figures_behind_it() {
    let server = shop().await;
    let (told, explained) = ask(&server, ELECTRODE).await;
    // 40 used in 360 arc hours.
    let [rate] = &explained.rates[..] else {
        panic!("one rate: {explained:?}")
    };
    assert_eq!((&rate.groups[..], rate.used), (&["own".to_owned()][..], 40));
    near(rate.over[0], 360.0);
    let assumed = &explained.assumptions[0];
    assert_eq!((assumed.shape, assumed.rate), (2.0, 20.0));
    assert_eq!(assumed.source, "the shop's own");
    // 6 hours on Mondays and 3 on Thursdays are to come.
    let work: Vec<f64> = explained.work.iter().map(|day| day.work[0]).collect();
    for (at, hours) in work.iter().take(14).enumerate() {
        near(*hours, [6.0, 0.0, 0.0, 3.0, 0.0, 0.0, 0.0][at % 7]);
    }
    let law = (42.0, 380.0);
    let spans = &explained.order_point[..];
    near(spans.iter().map(|span| span.chance).sum(), 1.0);
    // Five open days are a week, and a week of review.
    assert_eq!(spans[0].days, 14);
    near(spans[0].chance, 0.85);
    let point = (0..100).find(|k| enough(*k, law, &explained, spans) >= 0.95);
    assert_eq!(told.order_point, point);
    // And the forecast of the 28 days.
    let days = std::slice::from_ref(&explained.forecast);
    near(told.chance, enough(told.available, law, &explained, days));
    let need = (0..100).find(|k| enough(*k, law, &explained, days) >= 0.95);
    assert_eq!(Some(told.need), need);
}

#[tokio::test(flavor = "multi_thread")]
async fn use_by_a_group_without_work_on_record_counts_by_the_week() {
    let server = shop().await;
    let alone = ask(&server, ELECTRODE).await.0.expected;
    // The helper takes one every fourth week and logs no work.
    let entries = (1..=10).map(|month| {
        let id = format!("helper-{month}");
        NewUsage {
            group: Some("helper".to_owned()),
            torch: None,
            ..used(&id, (4 * month - 2, 1), (true, ELECTRODE))
        }
    });
    log(&server, entries.collect()).await;
    let (told, explained) = ask(&server, ELECTRODE).await;
    let [helper] = &explained.calendar[..] else {
        panic!("one group: {explained:?}")
    };
    assert_eq!((&*helper.group, helper.used), ("helper", 10));
    // One in four weeks, or so: recent weeks count more.
    assert!((0.15..0.4).contains(&helper.a_week), "{}", helper.a_week);
    // Four weeks of it come on top of what the work uses.
    assert!((told.expected - alone - 4.0 * helper.a_week).abs() < 1e-6);
    assert!(
        told.says
            .contains("The 10 used by helper with no work on record"),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn grinds_alone_are_no_work_for_a_part_that_wears_by_arc_time() {
    let server = shop().await;
    let helper = |id: &str, weeks, took| NewUsage {
        group: Some("helper".to_owned()),
        ..used(id, (weeks, 2), (took, CUP))
    };
    let ground = NewUsage {
        grinds: Some(4),
        ..helper("ground", 6, false)
    };
    log(&server, vec![ground, helper("cup", 5, true)]).await;
    let (told, explained) = ask(&server, CUP).await;
    assert_eq!(told.drivers, ["arc-hour"]);
    assert_eq!(explained.calendar.len(), 1, "{explained:?}");
    assert_eq!(explained.calendar[0].used, 1);
}
