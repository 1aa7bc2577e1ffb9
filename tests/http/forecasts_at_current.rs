//! Work at a current that is named: the shop's own band and the polarity tell apart what was used, as factors where
//! enough was used, else kept apart. The figures follow from the fixed point of the factors, found here by halving.

use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::{TestServer, instant};
use types::{Forecast, GetForecasts, NewCurrentBand, NewUsage, NewUsageBatch, ProblemKind};

const NOW: &str = "2026-06-15T08:00:00-03:00";
const PART: &str = "WLa20-2.4";

/// So many of them used in so many arc hours at a current.
struct Work {
    amps: Option<i64>,
    polarity: Option<&'static str>,
    hours: i64,
    used: i64,
    group: Option<&'static str>,
}

const fn at(amps: i64, polarity: &'static str, hours: i64, used: i64) -> Work {
    Work {
        amps: Some(amps),
        polarity: Some(polarity),
        hours,
        used,
        group: None,
    }
}

/// An electrode of Gamma(2, 20), a band of 60 to 160 A, and work.
async fn shop(work: &[Work]) -> TestServer {
    let server = TestServer::at(NOW).await;
    let part = assuming(electrode(PART, "2.4 mm"), "arc-hour", 2.0, 20.0);
    server.stocked(part, 9).await;
    server.torch("T1", &[PART]).await;
    let band = NewCurrentBand {
        diameter: "2.4 mm".to_owned(),
        polarity: "DCEN".to_owned(),
        amps_min: 60,
        amps_max: 160,
        source: "own trials, spring 2026".to_owned(),
        ..NewCurrentBand::default()
    };
    let made = server.owner.create_current_band(&band).await;
    made.expect("a band");
    let mut entries = Vec::new();
    for (index, work) in work.iter().enumerate() {
        let entry = |id: String| NewUsage {
            id: Some(id),
            torch: Some("T1".to_owned()),
            amps: work.amps,
            polarity: work.polarity.map(str::to_owned),
            group: work.group.map(str::to_owned),
            at: Some((instant(NOW) - chrono::TimeDelta::days(60)).fixed_offset()),
            ..NewUsage::default()
        };
        if work.hours > 0 {
            entries.push(NewUsage {
                arc_minutes: Some(work.hours * 60),
                ..entry(format!("{index}-hours"))
            });
        }
        entries.extend((0..work.used).map(|number| NewUsage {
            what: Some("took".to_owned()),
            part: Some(PART.to_owned()),
            ..entry(format!("{index}-{number}"))
        }));
    }
    let batch = NewUsageBatch {
        entries,
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    assert_eq!(told.expect("a batch").refused, 0);
    server
}

fn query(amps: Option<i64>, polarity: Option<&str>) -> GetForecasts {
    GetForecasts {
        part: Some(PART.to_owned()),
        arc: Some("34h".to_owned()),
        amps,
        polarity: polarity.map(str::to_owned),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    }
}

async fn ask(server: &TestServer, query: &GetForecasts) -> Forecast {
    let told = server.owner.get_forecasts(query).await;
    let mut told = told.expect("a forecast");
    assert_eq!(told.cannot_tell, []);
    told.forecasts.remove(0)
}

fn near(found: f64, expected: f64) {
    let off = (found - expected).abs();
    assert!(off < 1e-5 * expected.abs(), "{found} is not {expected}");
}

/// The factor of a level with `used` in `hours` beside 40 used in 400 h, on Gamma(2, 20): with it the rate is
/// (42 + used) / (420 + hours f), and f = (2 + used) / (2 + hours rate).
fn factor(used: f64, hours: f64) -> (f64, f64) {
    let (mut low, mut high) = (0.01, 50.0);
    let rate = |f: f64| (42.0 + used) / (420.0 + hours * f);
    for _ in 0..80 {
        let f = 0.5 * (low + high);
        if f < (2.0 + used) / (2.0 + hours * rate(f)) {
            low = f;
        } else {
            high = f;
        }
    }
    (low, rate(low))
}

#[tokio::test(flavor = "multi_thread")]
async fn work_above_the_band_uses_so_many_times_as_many() {
    let server = shop(&[at(120, "DCEN", 400, 40), at(190, "DCEN", 60, 12)]).await;
    let (f, rate) = factor(12.0, 60.0);
    let told = ask(&server, &query(Some(190), Some("DCEN"))).await;
    near(told.expected, f * rate * 34.0);
    let current = told.current.expect("it is told apart");
    near(current.factor.expect("a factor"), f);
    assert_eq!(
        (current.band_amps_min, current.band_amps_max),
        (Some(60), Some(160))
    );
    let expected = format!(
        "Work above your band of 60 to 160 A uses {f:.2} times as many as inside your band of 60 to 160 A, \
         from 12 used."
    );
    assert!(told.says.contains(&expected), "{} {expected}", told.says);
    let explained = told.explain.expect("it is explained");
    assert_eq!(explained.used, 52);
    near(explained.over, 400.0 + 60.0 * f);
    // The squared spreads of the rate, 1 / 54, and of the factor, 1 / 14.
    near(explained.shape, 1.0 / (1.0 / 54.0 + 1.0 / 14.0));
    near(explained.shape / explained.rate, f * rate);
    // Inside the band only the rate is uncertain.
    let told = ask(&server, &query(Some(160), Some("DCEN"))).await;
    near(told.expected, rate * 34.0);
    near(told.explain.expect("it is explained").shape, 54.0);
    // Without a current it is all work, as before: 54 in 480 h.
    let told = ask(&server, &query(None, None)).await;
    assert_eq!(told.current, None);
    near(told.expected, 54.0 / 480.0 * 34.0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_level_of_few_pieces_is_kept_apart() {
    let server = shop(&[at(120, "DCEN", 400, 40), at(120, "AC", 20, 3)]).await;
    let told = ask(&server, &query(None, Some("AC"))).await;
    // Gamma(2 + 3, 20 + 20), and nothing of the other 400 h.
    near(told.expected, 5.0 / 40.0 * 34.0);
    assert!(
        told.says
            .contains("Work at AC is kept apart: 3 used in it, and 5 are needed"),
        "{}",
        told.says
    );
    assert_eq!(told.current.expect("it is told apart").factor, None);
    let told = ask(&server, &query(None, Some("DCEN"))).await;
    near(told.expected, 42.0 / 420.0 * 34.0);
}

#[tokio::test(flavor = "multi_thread")]
async fn group_and_band_both_count() {
    // The helper used twice as fast: 16 in 80 h, all inside the band.
    let helper = Work {
        group: Some("helper"),
        ..at(120, "DCEN", 80, 16)
    };
    let server = shop(&[at(120, "DCEN", 400, 40), helper]).await;
    let (f, rate) = factor(16.0, 80.0);
    let mut asked = query(Some(100), Some("DCEN"));
    asked.group = Some("helper".to_owned());
    let told = ask(&server, &asked).await;
    near(told.expected, f * rate * 34.0);
    assert!(told.says.contains("Work by helper uses"), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_logged_without_a_current_is_not_told_apart() {
    let untold = Work {
        amps: None,
        polarity: None,
        ..at(0, "", 0, 30)
    };
    let server = shop(&[at(120, "DCEN", 400, 10), untold]).await;
    let told = ask(&server, &query(Some(120), Some("DCEN"))).await;
    // 40 used in 400 h, whatever the current.
    near(told.expected, 42.0 / 420.0 * 34.0);
    assert_eq!(told.current, None);
    assert!(
        told.says.contains("of 40 used, 10 were logged with theirs"),
        "{}",
        told.says
    );
    // Nor is a current for which there is no band.
    let told = ask(&server, &query(Some(120), Some("AC"))).await;
    assert!(
        told.says.contains("no band of current is set"),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_current_that_cannot_be_is_refused() {
    let server = shop(&[at(120, "DCEN", 400, 40)]).await;
    for (amps, polarity, word) in [
        (Some(0), None, "amps"),
        (Some(2_001), None, "amps"),
        (None, Some("DC"), "polarity"),
    ] {
        let refused = server.owner.get_forecasts(&query(amps, polarity)).await;
        let refused = refused.expect_err("it is refused");
        assert!(refused.is(ProblemKind::Invalid), "{refused}");
        assert!(refused.to_string().contains(word), "{refused}");
    }
}
