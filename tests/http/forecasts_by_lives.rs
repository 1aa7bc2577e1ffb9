//! Electrodes that wear out evenly: whole lives between two changes at one torch, learned where the record speaks for
//! it. The chances were computed outside this project with `SciPy`: the regularised incomplete beta function for a fresh
//! one, numerical integration over rate and residual life for one that is part-worn.

use tigstock_tests::builders::{assuming, electrode};
use tigstock_tests::{TestServer, instant};
use types::{Forecast, ForecastLives, GetForecasts, NewUsage, NewUsageBatch};

const NOW: &str = "2026-06-15T08:00:00-03:00";
const PART: &str = "WLa20-2.4";

/// Twelve lives of 240 grinds in all.
const EVEN: [i64; 12] = [18, 22, 21, 19, 20, 17, 23, 20, 18, 22, 19, 21];
/// Twelve as use at random makes them.
const UNEVEN: [i64; 12] = [3, 41, 9, 66, 1, 22, 14, 52, 6, 2, 19, 5];

/// An electrode of Gamma(2, 40) by the grind, 9 of them, in these torches.
async fn shop(torches: &[&str]) -> TestServer {
    let server = TestServer::at(NOW).await;
    let part = assuming(electrode(PART, "2.4 mm"), "grind", 2.0, 40.0);
    server.stocked(part, 9).await;
    for torch in torches {
        server.torch(torch, &[PART]).await;
    }
    server
}

/// Changes at a torch with so many grinds between them, each ground at two times, and so many after the last.
async fn lived(server: &TestServer, torch: &str, lives: &[i64], since: i64) {
    let mut hour = 0;
    let mut entries = Vec::new();
    let mut enter = |done: NewUsage| {
        hour += 1;
        let start = instant(NOW) - chrono::TimeDelta::days(80);
        entries.push(NewUsage {
            id: Some(format!("{torch}-{hour}")),
            torch: Some(torch.to_owned()),
            at: Some((start + chrono::TimeDelta::hours(hour)).fixed_offset()),
            ..done
        });
    };
    let ground = |grinds: i64| NewUsage {
        grinds: Some(grinds),
        ..NewUsage::default()
    };
    let changed = || NewUsage {
        what: Some("took".to_owned()),
        part: Some(PART.to_owned()),
        ..NewUsage::default()
    };
    enter(changed());
    for life in lives {
        if *life > 1 {
            enter(ground(*life - 1));
        }
        enter(ground(1));
        enter(changed());
    }
    if since > 0 {
        enter(ground(since));
    }
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

async fn ask(server: &TestServer, torch: Option<&str>) -> (Forecast, ForecastLives) {
    let query = GetForecasts {
        part: Some(PART.to_owned()),
        grinds: Some(100),
        torch: torch.map(str::to_owned),
        explain: Some("1".to_owned()),
        ..GetForecasts::default()
    };
    let told = server.owner.get_forecasts(&query).await;
    let told = told.expect("a forecast").forecasts.remove(0);
    let lives = told.lives.clone().expect("lives");
    (told, lives)
}

fn near(found: f64, expected: f64, off: f64) {
    assert!((found - expected).abs() < off, "{found} is not {expected}");
}

#[tokio::test(flavor = "multi_thread")]
async fn six_are_enough_where_ten_would_be_needed_if_they_failed_at_random() {
    let server = shop(&["T1"]).await;
    lived(&server, "T1", &EVEN, 0).await;
    // Work in no torch that is named, as that of a job, counts as random.
    let (told, lives) = ask(&server, None).await;
    assert_eq!((told.need, lives.counts), (10, false));
    assert!(lives.says.contains("name the torch"), "{}", lives.says);
    let (told, lives) = ask(&server, Some("T1")).await;
    assert_eq!((lives.whole, lives.counts), (12, true));
    near(lives.over, 240.0, 1e-9);
    assert_eq!((lives.age, lives.shape), (Some(0.0), 16.0));
    assert!(lives.bayes_factor.expect("a factor") > 1e6);
    assert_eq!(told.need, 6);
    near(told.expected, 4.531_139_7, 1e-5);
    // P(N <= 9), all but certain; by the negative binomial it would be 0.9257.
    assert!(told.chance > 0.999_99, "{}", told.chance);
    assert!(
        told.says.contains("so 6 instead of 10 are enough"),
        "{}",
        told.says
    );
    let how = told.explain.expect("it is explained").how;
    assert!(how.contains("k = 16") && how.contains("= 224"), "{how}");
}

#[tokio::test(flavor = "multi_thread")]
async fn one_that_is_part_worn_ends_sooner() {
    let server = shop(&["T1"]).await;
    lived(&server, "T1", &EVEN, 12).await;
    server.set_clock("2026-06-15T09:00:00-03:00");
    let (told, lives) = ask(&server, Some("T1")).await;
    assert_eq!(lives.age, Some(12.0));
    // The sum of P(N > n): P(N <= 4) = 0.1913, P(N <= 5) = 0.7219, P(N <= 6) = 0.9749.
    near(told.expected, 5.105_413, 1e-4);
    assert_eq!(told.need, 6);
}

#[tokio::test(flavor = "multi_thread")]
async fn lives_as_chance_makes_them_count_as_random() {
    let server = shop(&["T1"]).await;
    lived(&server, "T1", &UNEVEN, 0).await;
    let (told, lives) = ask(&server, Some("T1")).await;
    assert_eq!((lives.whole, lives.counts, lives.shape), (12, false, 1.0));
    assert!(lives.bayes_factor.expect("a factor") < 10.0);
    // 13 used in 240 grinds on Gamma(2, 40).
    near(told.expected, 15.0 / 280.0 * 100.0, 1e-9);
    assert_eq!(told.need, 10);
    let how = told.explain.expect("it is explained").how;
    assert!(how.contains("Use counts as random"), "{how}");
}

#[tokio::test(flavor = "multi_thread")]
async fn few_lives_and_torches_that_are_not_named_count_as_random() {
    let server = shop(&["T1", "T2"]).await;
    lived(&server, "T1", &EVEN[..7], 0).await;
    let (_, lives) = ask(&server, Some("T1")).await;
    assert_eq!(
        (lives.whole, lives.counts, lives.bayes_factor),
        (7, false, None)
    );
    lived(&server, "T2", &EVEN[7..], 4).await;
    let (_, lives) = ask(&server, None).await;
    assert_eq!((lives.whole, lives.counts), (12, false));
    assert!(lives.bayes_factor.expect("a factor") > 10.0);
    assert!(lives.says.contains("name the torch"), "{}", lives.says);
    let (told, lives) = ask(&server, Some("T2")).await;
    assert_eq!((lives.age, lives.counts), (Some(4.0), true));
    assert!(told.need < 10, "{}", told.need);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_taken_for_no_torch_leaves_it_unknown_which_is_in() {
    let server = shop(&["T1"]).await;
    lived(&server, "T1", &EVEN, 0).await;
    server.take(PART, "somewhere").await;
    let (_, lives) = ask(&server, Some("T1")).await;
    assert_eq!((lives.whole, lives.age, lives.counts), (12, None, false));
}

#[tokio::test(flavor = "multi_thread")]
async fn where_a_long_record_is_not_read_to_its_beginning_that_is_said() {
    let server = shop(&["T1"]).await;
    lived(&server, "T1", &EVEN, 0).await;
    let start = instant(NOW) - chrono::TimeDelta::days(30);
    let entries = (0..1_000_i64).map(|minute| NewUsage {
        id: Some(format!("small-{minute}")),
        torch: Some("T1".to_owned()),
        at: Some((start + chrono::TimeDelta::minutes(minute)).fixed_offset()),
        grinds: Some(1),
        ..NewUsage::default()
    });
    let batch = NewUsageBatch {
        entries: entries.collect(),
        history: true,
        ..NewUsageBatch::default()
    };
    let told = server.owner.record_usage_batch(&batch).await;
    assert_eq!(told.expect("a batch").recorded, 1_000);
    let (told, lives) = ask(&server, Some("T1")).await;
    assert_eq!((lives.whole, lives.age, lives.counts), (0, None, false));
    let how = told.explain.expect("it is explained").how;
    for said in [&lives.says, &how] {
        assert!(said.contains("the newest 1000 entries"), "{said}");
    }
}
