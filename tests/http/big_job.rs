//! Scenario S5 before a big job: what it needs, rounded to packs, and the chance that it runs
//! without a stop. The figures are those of the scenario, worked out outside this project.

use tigstock_tests::demo::{MONDAY, furnished, needs};
use tigstock_tests::instant;
use types::{GetNeeds, NeedLine};

/// A line as the scenario has it: part, expected use (two significant digits), need, available,
/// short, packs and pack size, after.
type Line<'a> = (&'a str, f64, i64, i64, i64, Option<(i64, i64)>, i64);

const LINES: [Line<'_>; 5] = [
    ("WLa20-2.4", 4.7, 9, 3, 6, Some((1, 10)), 13),
    ("collet-2.4", 0.55, 2, 1, 1, Some((1, 5)), 6),
    ("cup-7-gas-lens", 1.5, 4, 5, 0, None, 5),
    ("o-ring-large", 0.26, 1, 2, 0, None, 2),
    ("gas-lens-2.4", 0.17, 1, 1, 0, None, 1),
];

fn rounded(number: f64, like: f64) -> f64 {
    let step = if like >= 1.0 { 0.1 } else { 0.01 };
    (number / step).round() * step
}

#[tokio::test(flavor = "multi_thread")]
async fn every_part_has_the_columns_of_the_scenario() {
    let server = furnished().await;
    let needs = needs(&server).await;
    assert_eq!(needs.job, "R-118");
    assert_eq!(needs.start.to_string(), "2026-06-26");
    assert_eq!(needs.lines.len(), LINES.len());
    for (line, told) in needs.lines.iter().zip(LINES) {
        let (part, expected, need, available, short, order, after) = told;
        assert_eq!(line.part, part);
        let error = (rounded(line.expected, expected) - expected).abs();
        assert!(error < 1e-9, "{part}: {}", line.expected);
        assert_eq!(
            (line.need, line.available, line.on_order, line.short),
            (need, available, 0, short),
            "{part}"
        );
        let found = line.order.as_ref().map(|it| (it.packs, it.pack_size));
        assert_eq!((found, line.after), (order, after), "{part}");
        assert_eq!(line.rung.number, 2, "{part}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chance_is_27_per_cent_now_and_97_after_the_order() {
    let server = furnished().await;
    let needs = needs(&server).await;
    assert!((needs.chance_now - 0.2705).abs() < 5e-5, "{needs:?}");
    assert!((needs.chance_after - 0.9720).abs() < 5e-5, "{needs:?}");
    assert!(needs.target_met);
    assert_eq!(
        needs.says[0],
        "Chance this job runs without a stop: 27 % now, 97 % after this order."
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_chance_is_the_product_over_the_parts() {
    let server = furnished().await;
    let needs = needs(&server).await;
    let product = |of: fn(&NeedLine) -> f64| needs.lines.iter().map(of).product::<f64>();
    assert!((product(|line| line.chance_now) - needs.chance_now).abs() < 1e-12);
    assert!((product(|line| line.chance_after) - needs.chance_after).abs() < 1e-12);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_order_of_54_50_at_quayhead_fixes_it_by_wednesday_noon() {
    let server = furnished().await;
    let needs = needs(&server).await;
    assert_eq!(needs.cost_minor, Some(5450));
    assert_eq!(needs.currency.as_deref(), Some("CAD"));
    let [order] = &needs.orders[..] else {
        panic!("one order: {:?}", needs.orders)
    };
    assert_eq!(order.supplier, "quayhead");
    assert_eq!(order.parts, ["WLa20-2.4", "collet-2.4"]);
    assert_eq!((order.goods_minor, order.freight_minor), (5450, 0));
    assert_eq!(order.order_by.to_string(), "2026-06-24 12:00:00");
    assert_eq!(order.arrives.to_string(), "2026-06-16");
    assert!(order.in_time);
    assert!(
        needs.says.iter().any(|line| line.contains("54.50")
            && line.contains("quayhead")
            && line.contains("Wed 24 Jun 12:00")),
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pack_is_bought_because_six_singles_cost_more() {
    let server = furnished().await;
    let needs = needs(&server).await;
    let why = &needs.lines[0].why;
    assert!(why.contains("42.00") && why.contains("42.60"), "{why}");
    let order = needs.lines[0].order.as_ref().expect("an order");
    assert_eq!((order.cost_minor, order.pieces), (4200, 10));
}

#[tokio::test(flavor = "multi_thread")]
async fn eight_electrodes_are_expected_to_be_left_of_a_range_from_4_to_12() {
    let server = furnished().await;
    let needs = needs(&server).await;
    let electrode = &needs.lines[0];
    assert_eq!((electrode.left_low, electrode.left_high), (4, 12));
    assert!(
        needs
            .says
            .contains(&"Expect 8 WLa20-2.4 left (4 to 12).".to_owned()),
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn one_spare_gas_lens_would_help_most() {
    let server = furnished().await;
    let needs = needs(&server).await;
    let best = needs.next_best.expect("one more piece helps");
    assert_eq!(best.part, "gas-lens-2.4");
    assert!((best.chance - 0.986).abs() < 5e-4, "{}", best.chance);
    let told = "Largest gain from one more piece: gas-lens-2.4 takes 97.2 % to 98.6 %.";
    assert!(
        needs.says.iter().any(|line| line == told),
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_job_leaves_out_is_said() {
    let server = furnished().await;
    let needs = needs(&server).await;
    assert_eq!(needs.left_out, ["insulator-gas-lens", "back-cap-long"]);
    let out = needs
        .assumes
        .iter()
        .find(|line| line.contains("insulator-gas-lens"));
    assert!(
        out.is_some_and(|line| line.contains("back-cap-long")),
        "{:?}",
        needs.assumes
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_assumption_of_independence_is_told_as_hopeful() {
    let server = furnished().await;
    let needs = needs(&server).await;
    assert!(
        needs
            .assumes
            .iter()
            .any(|line| line.contains("independently") && line.contains("hopeful")),
        "{:?}",
        needs.assumes
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn the_shares_of_own_data_follow_from_410_arc_hours() {
    let server = furnished().await;
    let needs = needs(&server).await;
    // 410 hours over 410 and the hours of each starting assumption.
    let rates = [20.0, 50.0, 30.0, 50.0, 100.0];
    for (line, rate) in needs.lines.iter().zip(rates) {
        let share = 410.0 / (410.0 + rate);
        assert!((line.own_share - share).abs() < 1e-9, "{}", line.part);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_instant_may_be_passed_in_and_an_order_after_the_cut_off_counts_as_the_next_day() {
    let server = furnished().await;
    let query = GetNeeds {
        now: Some("2026-06-24T12:01:00-03:00".to_owned()),
        ..GetNeeds::default()
    };
    let needs = server.owner.get_job_needs("R-118", &query).await.unwrap();
    assert_eq!(needs.as_of, instant("2026-06-24T12:01:00-03:00"));
    let order = &needs.orders[0];
    assert_eq!(order.arrives.to_string(), "2026-06-26");
    assert!(!order.in_time);
    // What comes on the day of the start comes too late for it.
    assert!((needs.chance_after - needs.chance_now).abs() < 1e-12);
    assert!(!needs.target_met);
    assert!(
        needs
            .says
            .iter()
            .any(|line| line.starts_with("Cannot arrive in time")),
        "{:?}",
        needs.says
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_at_the_cut_off_still_comes_in_time() {
    let server = furnished().await;
    let query = GetNeeds {
        now: Some("2026-06-24T12:00:00-03:00".to_owned()),
        ..GetNeeds::default()
    };
    let needs = server.owner.get_job_needs("R-118", &query).await.unwrap();
    assert_eq!(needs.orders[0].arrives.to_string(), "2026-06-25");
    assert!(needs.orders[0].in_time && needs.target_met);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_instant_gives_the_same_answer_byte_for_byte() {
    let server = furnished().await;
    let path = "/v1/jobs/R-118/needs";
    let first = server.ask("GET", path).send().await;
    let second = server.ask("GET", path).send().await;
    assert_eq!(first.body, second.body);
    let asked = format!("{path}?now={}", MONDAY.replace(':', "%3A"));
    assert_eq!(server.ask("GET", &asked).send().await.body, first.body);
}
