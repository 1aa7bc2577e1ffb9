//! `explain` and `forecast`: no number without its reason.

use tigstock_tests::demo::furnished;

use crate::computer::Computer;

#[tokio::test(flavor = "multi_thread")]
async fn a_figure_is_explained_so_that_it_can_be_redone_on_paper() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run("explain WLa20-2.4 --arc 34h")
        .await;
    assert_eq!((told.code, &*told.err), (0, ""));
    // By hand: shape 2 + 58, rate 20 + 410; 60 / 430 = 0.1395 each hour, 4.744 in 34 hours.
    insta::assert_snapshot!(told.out, @r"
    Electrode WLa20 2.4 mm, 175 mm long: 3 counted on 15 Jun 2026 10:59 UTC: 3 on hand.
    Use to come, 34 h of arc time:
    WLa20-2.4: From your 410 arc hours: 58 used. Expect 4.74 over 34 arc hours; for 95 % keep 9, 3 available: 31 % of having enough.
      On record: 58 used over 410.00, in units of one arc-hour; the shop's own: 2 over 20.
      Used 2 + 58 over 20 + 410 arc hours: 0.14 each. Over 34 to come that is 4.74 on average; the spread is negative binomial with size 60 and p = 430 / (430 + 34).
    ");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_moved_since_the_count_is_listed_by_kind() {
    let server = furnished().await;
    server.set_clock("2026-06-15T09:00:00-03:00");
    let computer = Computer::of(&server).at("2026-06-15T09:00:00-03:00");
    for line in [
        "take T1 electrode",
        "take T1 electrode",
        "receive WLa20-2.4 10",
    ] {
        assert_eq!(computer.run(line).await.code, 0, "{line}");
    }
    let told = computer.run("explain WLa20-2.4 --format csv").await;
    assert_eq!(
        told.out,
        "part,site,what,quantity,entries\r\n\
         WLa20-2.4,shop,count,3,1\r\n\
         WLa20-2.4,shop,issue,-2,2\r\n\
         WLa20-2.4,shop,receipt,10,1\r\n\
         WLa20-2.4,shop,on hand,11,\r\n"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_forecast_tells_the_need_and_the_chance_of_enough() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run("forecast WLa20-2.4 --arc 34h --format json")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    let forecasts: types::Forecasts = serde_json::from_str(&told.out).expect("it is JSON");
    let electrode = &forecasts.forecasts[0];
    assert_eq!((electrode.need, electrode.available), (9, 3));
    assert!((electrode.expected - 60.0 * 34.0 / 430.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_days_to_come_are_explained_line_by_line() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run("forecast WLa20-2.4 --days 14d --pace 6h --explain")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    // 60 / 430 over 12 arc hours: the prior is Gamma(2, 20), and 58 were used in 410 hours.
    for line in [
        "  Assumed: 2 in 20 arc-hours (the shop's own).",
        "  On record (own): 58 used over 410.00 arc-hours, 0.1395 to one.",
        "  Forecast: 14 days with a chance of 100.0 %, 1.67 expected in 1 cases.",
        "A normal week has 6 arc hours, as told",
    ] {
        assert!(told.out.contains(line), "{line}: {}", told.out);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_current_without_a_band_is_not_told_apart() {
    let server = furnished().await;
    let told = Computer::of(&server)
        .run("forecast WLa20-2.4 --arc 34h --amps 190 --polarity DCEN")
        .await;
    assert_eq!(told.code, 0, "{told:?}");
    assert!(
        told.out
            .contains("no band of current is set for its diameter"),
        "{}",
        told.out
    );
}
