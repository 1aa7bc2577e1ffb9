//! Budgets of length against figures worked out by hand.

use super::*;

fn rod(text: &str) -> RodLength {
    RodLength::parse(text).expect("a length")
}

fn diameter(text: &str) -> Diameter {
    Diameter::parse(text).expect("a diameter")
}

fn grinds(number: i64) -> Grinds {
    Grinds::new(number).expect("grinds")
}

fn usual() -> Budget {
    Budget::new(rod("150 mm"), 45_000).expect("a budget")
}

#[test]
fn an_hour_of_arc_takes_a_fifth_of_a_millimetre_off_a_rod_of_2_4() {
    // 0.3 mg/min for 60 min are 18 mg; a millimetre of 2.4 mm is 19.25 x 4.5239 = 87.085 mg.
    assert_eq!(burn_off_um(18.0, diameter("2.4 mm")), 207);
    // 0.1 to 0.3 mg/min in an hour: 0.16-0.46 mm at 1.6, 0.07-0.21 at 2.4, 0.04-0.12 at 3.2.
    for (size, low, high) in [
        ("1.6 mm", 0.16, 0.46),
        ("2.4 mm", 0.07, 0.21),
        ("3.2 mm", 0.04, 0.12),
    ] {
        let mm = |mg| real(burn_off_um(mg, diameter(size))) / 1_000.0;
        assert!((mm(6.0) - low).abs() < 0.006, "{size}");
        assert!((mm(18.0) - high).abs() < 0.006, "{size}");
    }
    // At 50 mg/min 34 mm an hour.
    assert!((burn_off_um(3_000.0, diameter("2.4 mm")) - 34_449).abs() <= 1);
    assert_eq!(burn_off_um(f64::NAN, diameter("2.4 mm")), 0);
}

#[test]
fn a_worn_flat_is_ground_back_over_the_taper() {
    // 2.5 diameters of taper, from a flat of 1.5 mm to 0.5 mm: 2.5 mm.
    assert_eq!(repoint_um(1_500, 500, 2.5), 2_500);
    assert_eq!(repoint_um(500, 1_500, 2.5), 0);
}

#[test]
fn cut_backs_of_half_an_inch_leave_ten_to_a_rod() {
    // (175 - 50) / 12.7 = 9.8.
    let budget = Budget::new(rod("175 mm"), 50_000).expect("a budget");
    assert!((1.0 / budget.rods(12_700) - 9.84).abs() < 0.005);
}

#[test]
fn the_record_of_a_shop_says_what_a_grind_takes_off() {
    // 58 electrodes in 1180 grinds: 20.3 grinds each, 105 mm / 20.3 = 5.16 mm a grind.
    let loss = usual().observed_loss_um(58, 1_180).expect("a loss");
    assert!((loss - 5_161.0).abs() < 1.0, "{loss}");
    assert_eq!(usual().observed_loss_um(0, 10), None);
    assert_eq!(usual().observed_loss_um(3, 0), None);
}

#[test]
fn the_starting_assumption_is_two_electrodes_in_what_two_rods_pay_for() {
    // 105 mm at 5.25 mm a grind: one in twenty.
    let assumed = usual().assumption(5_250).expect("a rate");
    assert_eq!(assumed, Gamma::new(2.0, 40.0).expect("a rate"));
    // With 58 in 1180 more: Gamma(60, 1220); 100 grinds need 4.9, and 9 at 95 %.
    let known = assumed.posterior(58, 1_180.0).expect("a rate");
    let uses = known.predictive(100.0).expect("a predictive");
    assert!((uses.mean() - 4.918).abs() < 5e-4);
    assert_eq!(uses.quantile(0.95), 9);
}

#[test]
fn the_starting_figures_of_a_grind_come_near_what_shops_see() {
    // 0.7 x 2 + 0.3 x 13 mm are 5.3 mm, and a third of 0.2 mm of arc: 5.366 mm, 19.6 grinds to a rod.
    let losses = Losses::starter(diameter("2.4 mm"));
    assert_eq!(losses.per_logged_grind_um(), 5_366);
    let assumed = usual().assumption(losses.per_logged_grind_um());
    assert!((assumed.expect("a rate").mean() - 1.0 / 19.57).abs() < 1e-4);
    // 0.2 mm at 2.4; at 1.6 the section is 2.25 times smaller.
    assert_eq!(losses.per_arc_hour_um, 200);
    assert_eq!(Losses::starter(diameter("1.6 mm")).per_arc_hour_um, 450);
}

#[test]
fn a_piece_of_work_spends_length_in_three_ways() {
    // 30 grinds of 2 mm, 4 cut-backs of 13 mm, 10 hours of 0.2 mm: 60 + 52 + 2 = 114 mm.
    let work = Spending {
        grinds: grinds(30),
        cut_backs: grinds(4),
        arc: ArcTime::parse("10h").expect("arc time"),
    };
    let spent = Losses::starter(diameter("2.4 mm")).spent_um(&work);
    assert_eq!(spent, 114_000);
    assert!((usual().rods(spent) - 114.0 / 105.0).abs() < 1e-12);
    assert_eq!(
        Losses::starter(diameter("2.4 mm")).spent_um(&Spending::default()),
        0
    );
}

#[test]
fn what_leaves_nothing_to_spend_is_refused() {
    for stub in [-1, 150_000, 200_000] {
        assert!(Budget::new(rod("150 mm"), stub).is_err(), "{stub}");
    }
    assert_eq!(
        Budget::new(rod("50 mm"), 50_000)
            .expect_err("refused")
            .to_string(),
        "a rod of 50 mm has nothing above a stub of 50000 micrometres; give a shorter stub"
    );
    for loss in [0, -5, 700_001] {
        assert_eq!(usual().assumption(loss), Err(LengthError::Loss(loss)));
    }
    assert!(Budget::new(rod("150 mm"), STUB_LARGE.um).is_ok());
    assert!(Budget::new(rod("50 mm"), STUB_SMALL.um).is_ok());
}
