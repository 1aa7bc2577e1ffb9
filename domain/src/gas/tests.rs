//! Gas against figures that the trade prints and figures worked out by hand.

use super::*;

fn flow(text: &str) -> GasFlow {
    GasFlow::parse(text).expect("a flow")
}

fn starts(count: i64, pre_ms: i64, post_ms: i64) -> Starts {
    Starts::new(count, pre_ms, post_ms).expect("starts")
}

#[test]
fn a_flow_is_read_with_its_unit_and_shown_in_litres_a_minute() {
    for (text, ml, shown) in [
        ("8 L/min", 8_000, "8 L/min"),
        ("7.5l/min", 7_500, "7.5 L/min"),
        ("12L", 12_000, "12 L/min"),
        // 10 cubic feet of exactly 28.3168466 L in an hour: 4.719 L/min.
        ("10 cfh", 4_719, "4.719 L/min"),
        ("45 CFH", 21_238, "21.238 L/min"),
    ] {
        assert_eq!(flow(text).ml_per_minute(), ml, "{text}");
        assert_eq!(flow(text).to_string(), shown);
    }
    for bad in ["8", "", "L/min", "-8 L/min", "8,5 L/min", "argon", "8 m3/h"] {
        assert!(
            matches!(GasFlow::parse(bad), Err(GasError::NotFlow(_))),
            "{bad}"
        );
    }
    assert_eq!(
        GasFlow::parse("0 L/min"),
        Err(GasError::FlowOutOfRange(0)),
        "no flow protects nothing"
    );
    assert_eq!(
        GasFlow::new(200_001),
        Err(GasError::FlowOutOfRange(200_001))
    );
}

#[test]
fn gas_before_and_after_the_arc_is_most_of_the_extra_on_short_welds() {
    // 60 min and 120 starts of 0.5 s and 12 s at 7 L/min: 420 L + 175 L by hand.
    let mut work = GasUse {
        flow: flow("7 L/min"),
        arc: ArcTime::parse("60m").expect("arc time"),
        starts: starts(120, 500, 12_000),
        purge_ml: 0,
        leaks_ml: 0,
    };
    assert_eq!(work.volume_ml(), Ok(595_000));
    work.purge_ml = 40_000;
    work.leaks_ml = 5_001;
    assert_eq!(work.volume_ml(), Ok(640_001));
    work.purge_ml = -1;
    let refused = work.volume_ml().expect_err("purging below nothing");
    assert!(
        refused.to_string().contains("purging of -1 mL"),
        "{refused}"
    );
}

#[test]
fn what_is_used_is_rounded_up_to_the_millilitre() {
    let work = GasUse {
        flow: GasFlow::new(1_001).expect("a flow"),
        arc: ArcTime::from_seconds(1).expect("arc time"),
        starts: starts(0, 0, 0),
        purge_ml: 0,
        leaks_ml: 0,
    };
    // 1001 / 60 is 16.68.
    assert_eq!(work.volume_ml(), Ok(17));
}

#[test]
fn a_volume_beyond_what_is_ever_counted_is_refused() {
    let work = GasUse {
        flow: GasFlow::new(GasFlow::MAX).expect("a flow"),
        arc: ArcTime::from_seconds(ArcTime::SECONDS_MAX).expect("arc time"),
        starts: starts(Starts::MAX, 600_000, 600_000),
        purge_ml: 0,
        leaks_ml: 0,
    };
    assert!(matches!(
        work.volume_ml(),
        Err(GasError::VolumeOutOfRange { what: "gas", .. })
    ));
}

#[test]
fn a_cylinder_holds_its_water_volume_times_the_pressure() {
    // Printed: 29.5 L at 2000 psi hold 4013 L.
    assert_eq!(content_ml(29_500, 2_000.0, AIR_PSI), Ok(4_013_605));
    // The ideal-gas floor of the usual European sizes.
    for (litres, bar, cubic_metres) in [
        (10, 200.0, 2),
        (20, 200.0, 4),
        (50, 200.0, 10),
        (50, 300.0, 15),
    ] {
        assert_eq!(
            content_ml(litres * 1_000, bar, AIR_BAR),
            Ok(cubic_metres * 1_000_000)
        );
    }
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            content_ml(1_000, bad, AIR_BAR),
            Err(GasError::Pressure(_))
        ));
        assert!(content_ml(1_000, 1.0, bad).is_err());
    }
    assert!(content_ml(-1, 200.0, AIR_BAR).is_err());
    assert!(content_ml(QUANTITY_MAX, 200.0, AIR_BAR).is_err());
}

#[test]
fn a_cylinder_lasts_its_content_over_the_flow() {
    // 20 L at 200 bar last 400 min at 10 L/min; one printed table says 200, which is wrong.
    let content = content_ml(20_000, 200.0, AIR_BAR).expect("a content");
    assert_eq!(flow("10 L/min").seconds_of(content), 400 * 60);
    // Printed: 100 cubic feet at 45 CFH last 2 h 13 min, 80 at 20 last 4 h.
    let minutes = |litres_thousandths: i64, at: &str| flow(at).seconds_of(litres_thousandths) / 60;
    assert_eq!(minutes(2_831_685, "45 cfh"), 2 * 60 + 13);
    let eighty = flow("20 cfh").seconds_of(2_265_348);
    assert!((eighty - 4 * 3_600).abs() <= 2, "{eighty}");
    assert_eq!(flow("8 L/min").seconds_of(-5), 0);
}

#[test]
fn a_swap_of_cylinders_is_a_clock_of_arc_time() {
    // 8400 L at 8 L/min are 17.5 h; 900 starts of 8.5 s are 2.1 h; about 15.4 h are left.
    let arc = arc_of_swap(8_400_000, flow("8 L/min"), starts(900, 500, 8_000));
    let arc = arc.expect("arc time");
    assert_eq!(arc.seconds(), 63_000 - 7_650);
    assert!((arc.hours() - 15.4).abs() < 0.05, "{}", arc.hours());
}

#[test]
fn a_swap_that_leaves_no_arc_says_what_to_check() {
    let refused = arc_of_swap(8_000, flow("8 L/min"), starts(10, 500, 8_000));
    let said = refused.expect_err("no arc is left").to_string();
    assert!(
        said.contains("10 starts") && said.contains("1 min 25 s of the 1 min"),
        "{said}"
    );
    assert!(arc_of_swap(-1, flow("8 L/min"), starts(0, 0, 0)).is_err());
}

#[test]
fn starts_and_times_out_of_range_name_themselves() {
    assert_eq!(
        Starts::new(-1, 0, 0),
        Err(GasError::StartsOutOfRange(-1)),
        "fewer than none"
    );
    assert_eq!(
        Starts::new(1_000_001, 0, 0),
        Err(GasError::StartsOutOfRange(1_000_001))
    );
    let said = Starts::new(1, 0, 600_001)
        .expect_err("too long")
        .to_string();
    assert!(said.contains("a post-flow of 600001 ms"), "{said}");
    assert!(Starts::new(1, -1, 0).is_err());
}
