//! The count list: a book below zero first, then what was never counted, then where a count is most
//! likely to change what is ordered; in drawer order, and blind.

use serde_json::{Value, json};
use tigstock_tests::TestServer;
use tigstock_tests::builders::{collet, electrode};
use types::{CountLine, CountList, GetCountList, ProblemKind};

const COUNTED: &str = "2026-06-01T08:00:00-03:00";
/// Four weeks later.
const NOW: &str = "2026-06-29T08:00:00-03:00";

/// Parts A to D in drawers 1, 2, 10 and 11. The order point of an electrode without a history is 2: by
/// the assumed Gamma(1, 4) a week, use over two weeks is geometric with p = 4 / 6, and P(use <= 2) =
/// 1 - (1/3)^3 = 0.963 is the first of at least 0.95.
async fn shop() -> TestServer {
    let server = TestServer::at(COUNTED).await;
    for (drawer, part, counted) in [("11", "D", 9), ("10", "C", 3), ("2", "B", 4), ("1", "A", 8)] {
        server.stocked(electrode(part, "2.4 mm"), counted).await;
        set_up(&server, drawer, &[part]).await;
    }
    server.set_clock(NOW);
    server
}

async fn set_up(server: &TestServer, code: &str, parts: &[&str]) {
    let drawer = json!({"code": code, "parts": parts});
    let made = server.ask("POST", "/v1/drawers").json(&drawer).send().await;
    assert_eq!(made.status, 201, "{}", made.text());
}

async fn list(server: &TestServer, drawers: i64) -> CountList {
    let query = GetCountList {
        drawers: Some(drawers),
        ..GetCountList::default()
    };
    server.owner.get_count_list(&query).await.expect("a list")
}

fn drawers(list: &CountList) -> Vec<(&str, &str)> {
    let lines = list.lines.iter();
    lines
        .map(|it| (it.drawer.as_deref().unwrap_or("-"), &*it.part))
        .collect()
}

fn line<'l>(list: &'l CountList, part: &str) -> &'l CountLine {
    list.lines
        .iter()
        .find(|it| it.part == part)
        .expect("a line")
}

/// P(k) of a negative binomial by its recurrence: P(0) = (b / (b + t))^a and P(k + 1) = P(k) (a + k) /
/// (k + 1) t / (b + t).
fn negative_binomial(a: f64, b: f64, t: f64) -> Vec<f64> {
    let mut chances = vec![(b / (b + t)).powf(a)];
    for k in 0..200 {
        let k = f64::from(k);
        let last = chances[chances.len() - 1];
        chances.push(last * (a + k) / (k + 1.0) * t / (b + t));
    }
    chances
}

/// P(X - Y >= d).
fn beyond(x: &[f64], y: &[f64], d: usize) -> f64 {
    let pairs = y.iter().enumerate();
    pairs
        .map(|(k, chance)| chance * x.iter().skip(d + k).sum::<f64>())
        .sum()
}

#[tokio::test(flavor = "multi_thread")]
async fn drawers_where_a_count_would_change_an_order_are_asked_for_in_their_order() {
    let server = shop().await;
    // C is one above its order point, B two, A and D far.
    let told = list(&server, 2).await;
    assert_eq!(drawers(&told), [("2", "B"), ("10", "C")]);
    assert!(
        line(&told, "C").chance > line(&told, "B").chance,
        "{told:?}"
    );
    let told = list(&server, 1).await;
    assert_eq!(drawers(&told), [("10", "C")]);
    let whole = GetCountList {
        all: Some("1".to_owned()),
        ..GetCountList::default()
    };
    let whole = server.owner.get_count_list(&whole).await.expect("a list");
    assert_eq!(
        drawers(&whole),
        [("1", "A"), ("2", "B"), ("10", "C"), ("11", "D")]
    );
    assert!(whole.says.contains("4 of 4 places"), "{}", whole.says);
}

/// Over 4 weeks and no entry: losses by the assumed Gamma(0.5, 20), gains by Gamma(0.25, 25).
#[tokio::test(flavor = "multi_thread")]
async fn the_chance_is_that_of_the_formula_and_is_told_with_its_figures() {
    let server = shop().await;
    let told = list(&server, 4).await;
    let (losses, gains) = (
        negative_binomial(0.5, 20.0, 4.0),
        negative_binomial(0.25, 25.0, 4.0),
    );
    for (part, margin) in [("C", 1), ("B", 2), ("A", 6), ("D", 7)] {
        let chance = line(&told, part).chance.expect("a chance");
        let expected = beyond(&losses, &gains, margin);
        assert!(
            (chance - expected).abs() < 1e-7,
            "{part}: {chance} not {expected}"
        );
    }
    let why = &line(&told, "C").why;
    assert!(
        why.contains("0 entries and 4 weeks since it was counted"),
        "{why}"
    );
    assert_eq!(
        (told.losses.assumed_shape, told.losses.assumed_rate),
        (0.5, 20.0)
    );
    assert_eq!((told.losses.pieces, told.gains.pieces), (0, 0));
    assert!(told.says.contains("a starting assumption"), "{}", told.says);
    // An entry is one occasion more, and brings the book nearer to the order point.
    server.take("C", "one").await;
    server.take("D", "two").await;
    let later = list(&server, 4).await;
    let losses = negative_binomial(0.5, 20.0, 5.0);
    let gains = negative_binomial(0.25, 25.0, 5.0);
    let chance = line(&later, "D").chance.expect("a chance");
    assert!(
        (chance - beyond(&losses, &gains, 6)).abs() < 1e-7,
        "{chance}"
    );
    // C is at its order point now: it takes a gain to change that.
    let chance = line(&later, "C").chance.expect("a chance");
    assert!(
        (chance - beyond(&gains, &losses, 1)).abs() < 1e-7,
        "{chance}"
    );
    assert!(
        line(&later, "C").why.contains("1 entry and 4 weeks"),
        "{later:?}"
    );
}

/// Scenario S7: a book below zero heads the count list, and the list is blind.
#[tokio::test(flavor = "multi_thread")]
async fn a_book_below_zero_comes_first_and_nothing_tells_what_the_book_says() {
    let server = shop().await;
    let body = json!({"what": "took", "part": "D", "qty": 11});
    let ask = server.ask("POST", "/v1/usage").once("much").json(&body);
    assert_eq!(ask.send().await.status, 201);
    assert_eq!(server.on_hand("D").await, -2);
    let told = list(&server, 1).await;
    assert_eq!(drawers(&told), [("11", "D")]);
    assert!(told.lines[0].why.contains("below zero"), "{told:?}");
    assert!(!told.lines[0].why.contains('2'), "{told:?}");
    let raw: Value = server
        .ask("GET", "/v1/count-list?all=1")
        .send()
        .await
        .read();
    let fields: Vec<&str> = raw["lines"][0]
        .as_object()
        .expect("a line")
        .keys()
        .map(String::as_str)
        .collect();
    assert_eq!(
        fields,
        [
            "chance",
            "counted_at",
            "drawer",
            "name",
            "part",
            "unit",
            "why"
        ]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_never_counted_comes_before_what_was_and_loose_parts_come_last() {
    let server = shop().await;
    server.part(collet("collet-2.4")).await;
    server.part(electrode("unused", "1.6 mm")).await;
    let receipt = json!({"part": "collet-2.4", "quantity": 5});
    let ask = server
        .ask("POST", "/v1/receipts")
        .once("parcel")
        .json(&receipt);
    assert_eq!(ask.send().await.status, 201);
    let told = list(&server, 1).await;
    assert_eq!(drawers(&told), [("-", "collet-2.4")]);
    assert_eq!(told.lines[0].why, "Never counted.");
    let told = list(&server, 3).await;
    // A part that never was at the site is not asked for.
    assert_eq!(
        drawers(&told),
        [("2", "B"), ("10", "C"), ("-", "collet-2.4")]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn between_equals_the_one_that_was_counted_longest_ago_is_asked_for() {
    let server = TestServer::at(COUNTED).await;
    for part in ["A", "B"] {
        server.part(electrode(part, "2.4 mm")).await;
        set_up(&server, part, &[part]).await;
    }
    // So far from any order that no chance tells them apart.
    for (part, at) in [
        ("A", "2026-06-01T08:00:00-03:00"),
        ("B", "2026-05-31T08:00:00-03:00"),
    ] {
        let body = json!({"part": part, "counted": 1_000_000, "at": at});
        let ask = server.ask("POST", "/v1/counts").once(part).json(&body);
        assert_eq!(ask.send().await.status, 201);
    }
    assert_eq!(drawers(&list(&server, 1).await), [("B", "B")]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_that_lies_in_two_drawers_is_asked_for_in_both() {
    let server = shop().await;
    set_up(&server, "7", &["A", "C"]).await;
    let told = list(&server, 1).await;
    // Drawer 7 has A and C in it: either may change, so it comes before drawer 10 with C alone.
    assert_eq!(
        drawers(&told),
        [("1", "A"), ("7", "A"), ("7", "C"), ("10", "C")]
    );
    let why = &told.lines[2].why;
    assert!(
        why.ends_with("It lies in drawer 10 too: count all."),
        "{why}"
    );
}

async fn count(server: &TestServer, part: &str, counted: i64, key: &str) {
    let body = json!({"part": part, "counted": counted});
    let ask = server.ask("POST", "/v1/counts").once(key).json(&body);
    assert_eq!(ask.send().await.status, 201);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_rates_are_learned_from_what_counts_found_and_late_entries_explain() {
    let server = shop().await;
    count(&server, "A", 5, "three-missing").await;
    count(&server, "B", 5, "one-too-many").await;
    let told = list(&server, 4).await;
    assert_eq!((told.losses.pieces, told.gains.pieces), (3, 1));
    // Two counts, each after four weeks without an entry.
    assert!((told.losses.occasions - 8.0).abs() < 1e-9, "{told:?}");
    assert!((told.losses.shape - 3.5).abs() < 1e-9 && (told.losses.rate - 28.0).abs() < 1e-9);
    assert!((told.gains.shape - 1.25).abs() < 1e-9 && (told.gains.rate - 33.0).abs() < 1e-9);
    assert!(told.says.contains("2 counts of yours"), "{}", told.says);
    // Two of the three had been taken and come in late.
    let late = json!({"what": "took", "part": "A", "qty": 2, "at": "2026-06-20T08:00:00-03:00"});
    let ask = server.ask("POST", "/v1/usage").once("late").json(&late);
    assert_eq!(ask.send().await.status, 201);
    let told = list(&server, 4).await;
    assert_eq!((told.losses.pieces, told.gains.pieces), (1, 1));
    assert!((told.losses.occasions - 9.0).abs() < 1e-9, "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_site_has_a_list_of_its_own() {
    let server = shop().await;
    let site = json!({"code": "school", "zone": "UTC"});
    server.ask("POST", "/v1/sites").json(&site).send().await;
    let told: CountList = server
        .ask("GET", "/v1/count-list?site=school")
        .send()
        .await
        .read();
    assert_eq!((&*told.site, told.lines.len()), ("school", 0));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_count_list_that_makes_no_sense_is_told_by_its_field() {
    let server = shop().await;
    for (query, pointer, words) in [
        ("drawers=0", "?drawers", "0; 1 to 100"),
        ("drawers=101", "?drawers", "101; all=1"),
        ("all=maybe", "?all", "maybe; 1"),
        ("cover_days=0", "?cover_days", "0; 1 to 3650"),
        ("site=attic", "?site", "attic; see the list"),
        ("now=soon", "?now", "soon; RFC 3339"),
    ] {
        let path = format!("/v1/count-list?{query}");
        let heard = server.ask("GET", &path).send().await;
        let problem = heard.problem(ProblemKind::Invalid);
        let told = &problem.violations[0];
        assert_eq!(told.pointer, pointer, "{problem:?}");
        for word in words.split("; ") {
            assert!(told.detail.contains(word), "{word}: {told:?}");
        }
    }
}
