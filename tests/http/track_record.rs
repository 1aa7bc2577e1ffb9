//! The track record of forecasts through the API, as JSON, as a sheet and as a chart. What is expected is
//! computed here from first principles: the negative binomial by its recursion, term by term, and the shares
//! and losses by their definitions.

use chrono::{DateTime, Days, FixedOffset, NaiveDate};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{assuming, electrode};
use types::{
    GetTrackRecord, MethodScore, NewUsage, NewUsageBatch, PastForecast, ProblemKind, TrackRecord,
    TrackRecords,
};

/// A Monday.
const NOW: &str = "2026-06-15T08:00:00-03:00";
const PART: &str = "WLa20-2.4";
/// The periods that are only learned from.
const FIRST: usize = 12;
const CHANCES: [f64; 3] = [0.5, 0.9, 0.95];
const RANGES: [f64; 3] = [0.5, 0.8, 0.9];

/// One week of a history: arc hours, and electrodes used.
type Week = (i64, i64);

/// Forty weeks of work, by a rule that has nothing to do with chance.
fn forty_weeks() -> Vec<Week> {
    let used = [0, 1, 0, 2, 0, 0, 1, 3, 0, 1];
    (0..40_i64)
        .map(|week| (3 + 7 * week % 5, used[whole(week % 10)]))
        .collect()
}

/// Wednesday noon of the week so many weeks before that of now.
fn wednesday(weeks_ago: usize) -> DateTime<FixedOffset> {
    let now = DateTime::parse_from_rfc3339("2026-06-17T12:00:00-03:00").expect("an instant");
    now - Days::new(7 * u64::try_from(weeks_ago).expect("a few"))
}

/// A shop with those weeks on record, the last of them last week. The week before the first one is on record
/// from its Wednesday on, with 9 used in 50 hours: it is not full, and counts nowhere.
async fn shop(weeks: &[Week]) -> TestServer {
    let server = TestServer::at(NOW).await;
    server.zone("America/Halifax").await;
    let mut part = assuming(electrode(PART, "2.4 mm"), "arc-hour", 1.0, 10.0);
    part = assuming(part, "week", 1.0, 4.0);
    server.part(part).await;
    server.torch("T1", &[PART]).await;
    let mut entries = Vec::new();
    let with_hours = weeks.iter().any(|week| week.0 > 0);
    let before = (if with_hours { 50 } else { 0 }, 9);
    let all = std::iter::once(&before).chain(weeks);
    for (index, (hours, used)) in all.enumerate() {
        let at = wednesday(weeks.len() + 1 - index);
        let entry = |name: String| NewUsage {
            id: Some(name),
            torch: Some("T1".to_owned()),
            at: Some(at),
            ..NewUsage::default()
        };
        if *hours > 0 {
            entries.push(NewUsage {
                arc_minutes: Some(hours * 60),
                ..entry(format!("hours-{index}"))
            });
        }
        for piece in 0..*used {
            entries.push(NewUsage {
                what: Some("took".to_owned()),
                ..entry(format!("took-{index}-{piece}"))
            });
        }
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

fn of_part() -> GetTrackRecord {
    GetTrackRecord {
        part: Some(PART.to_owned()),
        explain: Some("1".to_owned()),
        ..GetTrackRecord::default()
    }
}

async fn ask(server: &TestServer, query: &GetTrackRecord) -> TrackRecords {
    let told = server.owner.get_track_record(query).await;
    told.expect("track records")
}

async fn record(server: &TestServer, query: &GetTrackRecord) -> TrackRecord {
    let mut told = ask(server, query).await;
    assert_eq!(told.records.len(), 1, "{:?}", told.cannot_tell);
    told.records.remove(0)
}

fn real(number: impl TryInto<i32, Error: std::fmt::Debug>) -> f64 {
    f64::from(number.try_into().expect("a small number"))
}

fn whole(number: i64) -> usize {
    usize::try_from(number).expect("none is below zero")
}

/// A negative binomial of that size and p: the chances of 0, 1, 2 ... up to 400, added up. P(0) = p^size and
/// P(k) = P(k-1) (size + k - 1) / k (1 - p).
fn added_up(size: f64, p: f64) -> Vec<f64> {
    let mut term = p.powf(size);
    let mut sum = term;
    let mut sums = vec![sum];
    for k in 1..400_u32 {
        term *= (size + f64::from(k) - 1.0) / f64::from(k) * (1.0 - p);
        sum += term;
        sums.push(sum);
    }
    sums
}

fn quantile(sums: &[f64], chance: f64) -> usize {
    sums.iter().position(|sum| *sum >= chance).expect("within")
}

/// Figures of a list of forecasts: how often ranges held, with and without the surplus, tenths, and losses.
#[derive(Default)]
struct Worked {
    held: [f64; 3],
    in_whole_pieces: [f64; 3],
    tenths: [f64; 10],
    losses: [f64; 3],
}

/// What is between `low` and `high` of the step that so many pieces take in what is added up.
fn within(sums: &[f64], used: usize, low: f64, high: f64) -> f64 {
    let below = if used == 0 { 0.0 } else { sums[used - 1] };
    ((sums[used].min(high) - below.max(low)) / (sums[used] - below)).clamp(0.0, 1.0)
}

fn worked(forecasts: &[(Vec<f64>, usize)]) -> Worked {
    let mut all = Worked::default();
    let each = 1.0 / real(forecasts.len());
    for (sums, used) in forecasts {
        let used = *used;
        for (place, range) in RANGES.into_iter().enumerate() {
            let (low, high) = (0.5 - range / 2.0, 0.5 + range / 2.0);
            all.held[place] += each * within(sums, used, low, high);
            let ends = (quantile(sums, low), quantile(sums, high));
            if ends.0 <= used && used <= ends.1 {
                all.in_whole_pieces[place] += each;
            }
        }
        for (tenth, share) in (0..10_u32).zip(&mut all.tenths) {
            let low = f64::from(tenth) / 10.0;
            *share += each * within(sums, used, low, low + 0.1);
        }
        for (loss, chance) in all.losses.iter_mut().zip(CHANCES) {
            let needed = quantile(sums, chance);
            let short = real(used.saturating_sub(needed));
            let left = real(needed.saturating_sub(used));
            *loss += each * (chance * short + (1.0 - chance) * left);
        }
    }
    all
}

fn assert_scored(score: &MethodScore, expected: &Worked) {
    let close = |found: f64, expected: f64, what: &str| {
        let method = &score.method;
        assert!(
            (found - expected).abs() < 1e-9,
            "{method}, {what}: {found} for {expected}"
        );
    };
    for (place, range) in score.ranges.iter().enumerate() {
        close(range.promised, RANGES[place], "promised");
        close(range.held, expected.held[place], "held");
        close(
            range.in_whole_pieces,
            expected.in_whole_pieces[place],
            "in whole pieces",
        );
    }
    assert_eq!(score.calibration.len(), 10);
    for (found, expected) in score.calibration.iter().zip(expected.tenths) {
        close(*found, expected, "calibration");
    }
    assert_eq!(score.losses.len(), 3);
    for (place, loss) in score.losses.iter().enumerate() {
        close(loss.chance, CHANCES[place], "chance");
        close(loss.loss, expected.losses[place], "loss");
    }
}

/// What a wear rate of Gamma(1, `weight`) forecasts, week by week, when told the exposure.
fn by_rate(weeks: &[(f64, i64)], weight: f64) -> Vec<(Vec<f64>, usize)> {
    let (mut pieces, mut over) = (1.0, weight);
    let mut forecasts = Vec::new();
    for (week, (exposure, used)) in weeks.iter().enumerate() {
        if week >= FIRST {
            let sums = added_up(pieces, over / (over + exposure));
            forecasts.push((sums, whole(*used)));
        }
        pieces += real(*used);
        over += exposure;
    }
    forecasts
}

/// What the mean of the last twelve forecasts, with the spread of its own errors.
fn by_average(weeks: &[Week]) -> Vec<(Vec<f64>, usize)> {
    let used: Vec<f64> = weeks.iter().map(|week| real(week.1)).collect();
    let point = |week: usize| {
        let last = &used[week.saturating_sub(12)..week];
        last.iter().sum::<f64>() / real(last.len())
    };
    let forecast = |week: usize| {
        let squares: f64 = (1..week).map(|it| (used[it] - point(it)).powi(2)).sum();
        let points: f64 = (1..week).map(point).sum();
        let times = squares / points;
        assert!(times > 1.0, "the rule is uneven enough");
        // Mean m and variance t m: p = 1 / t and size m / (t - 1).
        added_up(point(week) / (times - 1.0), 1.0 / times)
    };
    (FIRST..weeks.len())
        .map(|week| (forecast(week), whole(weeks[week].1)))
        .collect()
}

fn hours(weeks: &[Week]) -> Vec<(f64, i64)> {
    weeks.iter().map(|week| (real(week.0), week.1)).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn forecasts_by_arc_hours_are_scored_as_on_paper() {
    let weeks = forty_weeks();
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    assert_eq!(
        (&*told.driver, told.periods, told.forecasts),
        ("arc-hour", 40, 28)
    );
    // Forty weeks before Monday 15 June 2026, and the Sunday before it.
    let days = [told.from, told.to].map(|day| day.to_string());
    assert_eq!(days, ["2025-09-08", "2026-06-14"]);
    assert_scored(&told.own, &worked(&by_rate(&hours(&weeks), 10.0)));
    assert_eq!((told.without_exposure, told.used_without_exposure), (0, 0));
    let methods: Vec<&str> = told.methods.iter().map(|it| &*it.method).collect();
    assert_eq!(
        methods,
        [
            "moving-average",
            "croston",
            "syntetos-boylan",
            "teunter-syntetos-babai"
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_moving_average_is_scored_as_on_paper() {
    let weeks = forty_weeks();
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    assert_scored(&told.methods[0], &worked(&by_average(&weeks)));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_best_method_is_the_one_that_lost_least() {
    let server = shop(&forty_weeks()).await;
    let told = record(&server, &of_part()).await;
    assert_eq!(told.best.len(), 3);
    for (place, best) in told.best.iter().enumerate() {
        let all = [&told.own].into_iter().chain(&told.methods);
        let least = all.clone().map(|it| it.losses[place].loss);
        let least = least.fold(f64::INFINITY, f64::min);
        let named = all.clone().find(|it| it.method == best.method);
        let named = named.expect("one of them").losses[place].loss;
        assert!((named - least).abs() < 1e-12, "{best:?}");
        assert!((best.chance - CHANCES[place]).abs() < 1e-12, "{best:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn each_forecast_is_told_with_what_came() {
    let weeks = forty_weeks();
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    let expected = by_rate(&hours(&weeks), 10.0);
    let each = told.each.expect("it was asked for");
    assert_eq!(each.len(), expected.len());
    let first: NaiveDate = "2025-12-01".parse().expect("twelve weeks after the first");
    for (index, (found, (sums, used))) in each.iter().zip(&expected).enumerate() {
        let from = first + Days::new(7 * u64::try_from(index).unwrap());
        let ends = [0.05, 0.5, 0.95].map(|chance| i64::try_from(quantile(sums, chance)).unwrap());
        let used = i64::try_from(*used).unwrap();
        let expected = PastForecast {
            from,
            to: from + Days::new(6),
            exposure: real(weeks[FIRST + index].0),
            low: ends[0],
            median: ends[1],
            high: ends[2],
            used,
            held: ends[0] <= used && used <= ends[2],
        };
        assert_eq!(*found, expected);
    }
    let query = GetTrackRecord {
        explain: None,
        ..of_part()
    };
    assert_eq!(record(&server, &query).await.each, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_without_exposure_is_judged_by_the_week() {
    let weeks: Vec<Week> = forty_weeks().iter().map(|week| (0, week.1)).collect();
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    assert_eq!((&*told.driver, told.rung.number), ("week", 5));
    let even: Vec<(f64, i64)> = weeks.iter().map(|week| (1.0, week.1)).collect();
    assert_scored(&told.own, &worked(&by_rate(&even, 4.0)));
    let last = told.methods.last().expect("methods");
    assert_eq!(last.method, "changing-rate");
    assert!((last.calibration.iter().sum::<f64>() - 1.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_record_that_is_as_it_should_be_says_so() {
    let server = shop(&forty_weeks()).await;
    let told = record(&server, &of_part()).await;
    assert_eq!(told.verdict, "held");
    let starts = "Of 28 forecasts of a week, 9 in 10 should have what was used then within their 90 % range; ";
    assert!(told.says.starts_with(starts), "{}", told.says);
    assert!(
        told.says
            .contains("The difference is within what chance explains."),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn forecasts_that_were_worse_than_a_simple_method_are_told_with_what_to_do() {
    // Nothing for a long time, then ten a week: the old weeks drag the rate down, and an average forgets.
    let weeks: Vec<Week> = (0..60)
        .map(|week| (0, if week < 25 { 0 } else { 10 }))
        .collect();
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    let even: Vec<(f64, i64)> = weeks.iter().map(|week| (1.0, week.1)).collect();
    let own = worked(&by_rate(&even, 4.0));
    assert!(own.held[2] < 0.6, "by the rule: {}", own.held[2]);
    assert_scored(&told.own, &own);
    assert_eq!(told.verdict, "too-narrow");
    assert_ne!(told.best[2].method, "own");
    for words in [
        "the ranges are too narrow: plan at a higher target",
        "did better, with ",
        "log arc time or grinds",
    ] {
        assert!(told.says.contains(words), "{words}: {}", told.says);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn few_forecasts_are_not_judged() {
    let weeks = &forty_weeks()[..20];
    let told = record(&shop(weeks).await, &of_part()).await;
    assert_eq!((told.forecasts, &*told.verdict), (8, "too-few"));
    assert!(told.says.contains("too few to judge by"), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_hardly_used_is_not_judged_by_ranges_that_nothing_could_miss() {
    let weeks: Vec<Week> = (0..60).map(|week| (4, i64::from(week == 40))).collect();
    let told = record(&shop(&weeks).await, &of_part()).await;
    assert_eq!((told.forecasts, told.with_use), (48, 1));
    assert_eq!(told.verdict, "too-few", "{:?}", told.own.ranges);
    assert!(
        told.says
            .contains("Too few of them met any use to judge by"),
        "{}",
        told.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_is_used_more_evenly_than_chance_has_ranges_that_are_too_wide() {
    // Exactly three in every week of equal work.
    let weeks: Vec<Week> = (0..60).map(|_| (4, 3)).collect();
    let told = record(&shop(&weeks).await, &of_part()).await;
    let own = worked(&by_rate(&hours(&weeks), 10.0));
    assert!(own.held[2] > 0.99, "by the rule: {}", own.held[2]);
    assert_scored(&told.own, &own);
    assert_eq!((told.with_use, &*told.verdict), (48, "too-wide"));
}

#[tokio::test(flavor = "multi_thread")]
async fn weeks_in_which_nothing_was_logged_but_something_used_are_pointed_out() {
    let mut weeks = forty_weeks();
    // Two are past the twelfth week; in one of them 3 were used, in the other none.
    weeks[17] = (0, 3);
    weeks[20] = (0, 0);
    let told = record(&shop(&weeks).await, &of_part()).await;
    assert_eq!((told.without_exposure, told.used_without_exposure), (2, 1));
    let words = "In 1 of them something was used and no arc hours were logged";
    assert!(told.says.contains(words), "{}", told.says);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_short_record_cannot_be_told_and_says_when_it_can() {
    let server = shop(&forty_weeks()[..10]).await;
    server.part(electrode("new", "1.6 mm")).await;
    let query = GetTrackRecord {
        part: Some(format!("{PART},new")),
        ahead: Some(2),
        ..GetTrackRecord::default()
    };
    let told = ask(&server, &query).await;
    assert!(told.records.is_empty());
    let why: Vec<_> = told
        .cannot_tell
        .iter()
        .map(|it| (&*it.part, &*it.why))
        .collect();
    assert_eq!(
        why,
        [
            (
                PART,
                "a track record needs 14 full weeks on record and there are 10; ask again in 4 weeks"
            ),
            (
                "new",
                "nothing is logged of it yet; log use, and ask again in some months"
            ),
        ]
    );
    let query = GetTrackRecord {
        period: Some("month".to_owned()),
        ..of_part()
    };
    let why = &ask(&server, &query).await.cannot_tell[0].why;
    // April and May are whole; the record begins in April's first week or before.
    assert!(
        why.contains("needs 13 full months") && why.ends_with("or ask by week"),
        "{why}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_forecast_over_several_periods_is_held_against_their_sum() {
    let weeks = forty_weeks();
    let server = shop(&weeks).await;
    let query = GetTrackRecord {
        ahead: Some(4),
        ..of_part()
    };
    let told = ask(&server, &query).await;
    assert!(
        told.assumes.iter().any(|it| it.contains("overlap")),
        "{:?}",
        told.assumes
    );
    let record = &told.records[0];
    // The last one begins four weeks before the end.
    assert_eq!(record.forecasts, 25);
    let each = record.each.as_deref().expect("it was asked for");
    for (index, forecast) in each.iter().enumerate() {
        let over = &weeks[FIRST + index..FIRST + index + 4];
        assert_eq!(forecast.used, over.iter().map(|week| week.1).sum::<i64>());
        let hours: i64 = over.iter().map(|week| week.0).sum();
        assert!((forecast.exposure - real(hours)).abs() < 1e-9);
        assert_eq!((forecast.to - forecast.from).num_days(), 27);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn months_are_whole_months_of_the_calendar() {
    // 70 weeks before 15 June 2026 is 10 February 2025: March 2025 to May 2026 are whole.
    let weeks: Vec<Week> = (0..70).map(|week| (4, week % 2)).collect();
    let server = shop(&weeks).await;
    let query = GetTrackRecord {
        period: Some("month".to_owned()),
        ..of_part()
    };
    let told = record(&server, &query).await;
    assert_eq!((told.periods, told.forecasts), (15, 3));
    let each = told.each.expect("it was asked for");
    let days: Vec<String> = each
        .iter()
        .map(|it| format!("{} {}", it.from, it.to))
        .collect();
    assert_eq!(
        days,
        [
            "2026-03-01 2026-03-31",
            "2026-04-01 2026-04-30",
            "2026-05-01 2026-05-31"
        ]
    );
    // The Wednesdays of May 2026 are the 6th, 13th, 20th and 27th.
    assert!((each[2].exposure - 16.0).abs() < 1e-9);
    assert_eq!(each[2].used, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_record_of_another_instant_ends_before_it() {
    let server = shop(&forty_weeks()).await;
    let query = GetTrackRecord {
        as_of: Some("2026-06-02T08:00:00-03:00".to_owned()),
        ..of_part()
    };
    let told = ask(&server, &query).await;
    assert!(told.stands_for.is_some());
    let record = &told.records[0];
    assert_eq!(
        (record.periods, &*record.to.to_string()),
        (38, "2026-05-31")
    );
    let query = GetTrackRecord {
        now: Some("2026-06-02T08:00:00-03:00".to_owned()),
        ..of_part()
    };
    assert_eq!(ask(&server, &query).await.records[0].own, record.own);
}

#[tokio::test(flavor = "multi_thread")]
async fn groups_have_records_of_their_own() {
    let server = shop(&forty_weeks()).await;
    let query = GetTrackRecord {
        group: Some("beginner".to_owned()),
        ..of_part()
    };
    let told = ask(&server, &query).await;
    assert_eq!((told.records.len(), told.cannot_tell.len()), (0, 1));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_question_that_makes_no_sense_is_refused_at_its_place() {
    let server = shop(&[]).await;
    let bad = [
        ("part=nothing", "?part"),
        ("part=,", "?part"),
        ("ahead=0", "?ahead"),
        ("ahead=13", "?ahead"),
        ("ahead=-1", "?ahead"),
        ("period=fortnight", "?period"),
        ("period=", "?period"),
        ("group=student", "?group"),
        ("site=attic", "?site"),
        ("explain=yes", "?explain"),
        ("now=today", "?now"),
        ("as_of=2027-01-01T00:00:00Z", "?as_of"),
        ("known=then", "?known"),
    ];
    let paths = [
        ("/v1/track-record", ""),
        ("/v1/track-record/chart.svg", "part=WLa20-2.4&"),
        ("/v1/sheets/track-record.csv", ""),
    ];
    for (path, with) in paths {
        for (query, pointer) in bad {
            let with = if query.starts_with("part") { "" } else { with };
            let heard = server.ask("GET", &format!("{path}?{with}{query}"));
            let problem = heard.send().await.problem(ProblemKind::Invalid);
            assert_eq!(problem.violations[0].pointer, pointer, "{path} {query}");
        }
    }
    for query in ["", "?part=", "?part=WLa20-2.4,WLa20-2.4"] {
        let heard = server.ask("GET", &format!("/v1/track-record/chart.svg{query}"));
        let problem = heard.send().await.problem(ProblemKind::Invalid);
        assert_eq!(problem.violations[0].pointer, "?part", "{query}");
    }
    let unread = server.ask("GET", "/v1/track-record?ahead=two").send().await;
    unread.problem(ProblemKind::MalformedRequest);
}

/// What an attribute says of a place or a size.
fn number(node: roxmltree::Node<'_, '_>, name: &str) -> f64 {
    let told = node.attribute(name).unwrap_or("0");
    told.parse().unwrap_or_else(|_| panic!("{name}=\"{told}\""))
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chart_shows_each_forecast_by_shape_and_tells_itself_in_words() {
    // A week in which everything broke.
    let mut weeks = forty_weeks();
    weeks[30] = (4, 9);
    let server = shop(&weeks).await;
    let told = record(&server, &of_part()).await;
    let each = told.each.expect("it was asked for");
    let outside = each.iter().filter(|it| !it.held).count();
    assert!(outside > 0, "nine are outside any range");
    let path = format!("/v1/track-record/chart.svg?part={PART}");
    let heard = server.ask("GET", &path).send().await;
    assert_eq!(heard.status, 200);
    assert_eq!(heard.header("Content-Type"), "image/svg+xml");
    let text = heard.text();
    let chart = roxmltree::Document::parse(&text).expect("well-formed XML");
    let svg = chart.root_element();
    assert_eq!(svg.tag_name().name(), "svg");
    assert_eq!(svg.attribute("role"), Some("img"));
    for (name, refers, words) in [
        ("title", "aria-labelledby", PART),
        ("desc", "aria-describedby", "28 of 28 forecasts"),
    ] {
        let mut elements = svg
            .children()
            .filter(|it| it.has_tag_name((svg.tag_name().namespace().unwrap(), name)));
        let element = elements.next().expect("it has one");
        assert!(
            element.text().is_some_and(|text| text.contains(words)),
            "{name}"
        );
        assert_eq!(element.attribute("id"), svg.attribute(refers));
    }
    let desc = text.split("<desc").nth(1).expect("a description");
    assert!(desc.contains(&format!("{outside} lie outside")), "{desc}");
    // One more of each dot is in the legend.
    let dots: Vec<_> = svg
        .descendants()
        .filter(|it| it.tag_name().name() == "circle")
        .collect();
    assert_eq!(dots.len(), each.len() + 2);
    let hollow = dots
        .iter()
        .filter(|it| it.attribute("fill") == Some("#ffffff"));
    assert_eq!(hollow.count(), outside + 1);
    assert!(
        dots.iter()
            .all(|it| it.attribute("stroke").is_some() || it.attribute("fill") == Some("#1a1a1a"))
    );
    let bars = svg
        .descendants()
        .filter(|it| it.attribute("fill") == Some("#9db8d2"));
    assert_eq!(bars.count(), each.len() + 1);
    let texts: Vec<&str> = svg
        .descendants()
        .filter(|it| it.tag_name().name() == "text")
        .filter_map(|it| it.text())
        .collect();
    for label in [
        "90 % range",
        "used in a week",
        "1 Dec 2025",
        "14 Jun 2026",
        "0",
    ] {
        assert!(
            texts.iter().any(|it| it.contains(label)),
            "{label}: {texts:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chart_fits_a_phone_and_shows_the_newest_year() {
    // Ten years, one week with very many.
    let weeks: Vec<Week> = (0..90)
        .map(|week| (4, if week == 80 { 40 } else { week % 3 }))
        .collect();
    let server = shop(&weeks).await;
    let text = server.owner.get_track_record_chart(&of_part()).await;
    let text = text.expect("a chart");
    let chart = roxmltree::Document::parse(&text).expect("well-formed XML");
    let svg = chart.root_element();
    let (width, height) = (number(svg, "width"), number(svg, "height"));
    assert!(width <= 390.0, "{width}");
    assert_eq!(
        svg.attribute("viewBox"),
        Some(&*format!("0 0 {width} {height}"))
    );
    assert!(number(svg, "font-size") >= 11.0);
    let count = svg
        .descendants()
        .filter(|it| it.tag_name().name() == "circle");
    assert_eq!(count.count(), 52 + 2);
    for node in svg.descendants().filter(roxmltree::Node::is_element) {
        for name in ["x", "x1", "x2", "cx"] {
            assert!((0.0..=width).contains(&number(node, name)), "{node:?}");
        }
        for name in ["y", "y1", "y2", "cy"] {
            assert!((0.0..=height).contains(&number(node, name)), "{node:?}");
        }
        for name in ["width", "height", "r"] {
            assert!(number(node, name) >= 0.0, "{node:?}");
        }
        assert!(node.attributes().all(|it| !it.value().contains("NaN")));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_chart_of_nothing_says_why() {
    let server = shop(&forty_weeks()[..3]).await;
    let text = server.owner.get_track_record_chart(&of_part()).await;
    let text = text.expect("a chart");
    let chart = roxmltree::Document::parse(&text).expect("well-formed XML");
    let words: Vec<&str> = chart.descendants().filter_map(|it| it.text()).collect();
    let words = words.join(" ");
    assert!(
        words.contains("needs 13 full weeks on record and there are 3"),
        "{words}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_has_a_row_for_each_part_and_method() {
    let server = shop(&forty_weeks()).await;
    server.part(electrode("new", "1.6 mm")).await;
    let query = GetTrackRecord {
        part: Some(format!("{PART},new")),
        ..GetTrackRecord::default()
    };
    let told = &ask(&server, &query).await.records[0];
    let sheet = server.owner.get_track_record_sheet(&query).await;
    let sheet = sheet.expect("a sheet");
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let headers = reader.headers().expect("a header row").clone();
    let place = |name: &str| headers.iter().position(|it| it == name).expect(name);
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let methods: Vec<&str> = rows.iter().map(|row| &row[place("method")]).collect();
    assert_eq!(
        methods,
        [
            "own",
            "moving-average",
            "croston",
            "syntetos-boylan",
            "teunter-syntetos-babai",
            ""
        ]
    );
    let figure = |row: usize, name: &str| rows[row][place(name)].parse::<f64>().expect("a figure");
    assert!((figure(0, "held_90") - told.own.ranges[2].held).abs() < 1e-12);
    assert!((figure(1, "loss_95") - told.methods[0].losses[2].loss).abs() < 1e-12);
    assert_eq!(&rows[0][place("from")], "2025-09-08");
    let best: Vec<&str> = rows.iter().map(|row| &row[place("best_95")]).collect();
    assert_eq!(best.iter().filter(|it| **it == "yes").count(), 1);
    assert_eq!(&rows[5][place("part")], "new");
    assert!(rows[5][place("says")].starts_with("nothing is logged of it yet"));
}
