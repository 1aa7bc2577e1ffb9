//! Weld lists: their figures by hand, and what is refused. The trade's printed tables are compared
//! among the figures from outside.

use super::*;

fn butt() -> Weld {
    Weld {
        joint: Joint::SingleV {
            thickness_um: 3_200,
            gap_um: 2_000,
            root_face_um: 1_000,
            angle_degrees: 60,
        },
        material: Material::Aluminium,
        length_mm: 6_000,
        passes: 1,
        speed_mm_per_minute: 300,
        starts: None,
        over_weld_percent: OVER_WELD_PERCENT,
        efficiency_percent: EFFICIENCY_PERCENT,
    }
}

#[test]
fn six_metres_at_300_millimetres_a_minute_are_20_minutes_of_arc_a_pass() {
    let mut weld = butt();
    assert_eq!(weld.work().expect("work").arc.seconds(), 20 * 60);
    weld.passes = 3;
    let work = weld.work().expect("work");
    assert_eq!(work.arc.seconds(), 60 * 60);
    // One start for each 150 mm of each pass.
    assert_eq!(work.starts, 3 * 40);
    weld.length_mm = 6_001;
    assert_eq!(weld.work().expect("work").starts, 3 * 41);
    weld.starts = Some(7);
    assert_eq!(weld.work().expect("work").starts, 7);
}

#[test]
fn the_filler_of_a_butt_weld_is_that_worked_out_by_hand() {
    // 2 x 3.2 + 2.2^2 tan 30 = 6.4 + 2.7944 = 9.1944 mm2; x 6 m x 2.70 = 148.95 g drawn;
    // x 1.2 / 0.95 = 188.15 g.
    assert_eq!(butt().work().expect("work").filler_g, 189);
    let exact = Weld {
        over_weld_percent: 100,
        efficiency_percent: 100,
        ..butt()
    };
    assert_eq!(exact.work().expect("work").filler_g, 149);
}

#[test]
fn a_square_butt_and_a_bead_have_the_areas_that_are_told() {
    let square = Joint::SingleV {
        thickness_um: 2_000,
        gap_um: 1_000,
        root_face_um: 2_000,
        angle_degrees: 0,
    };
    assert!((square.area_mm2() - 2.0).abs() < 1e-12);
    let bead = Joint::Bead {
        area_um2: 12_500_000,
    };
    assert!((bead.area_mm2() - 12.5).abs() < 1e-12);
}

#[test]
fn what_is_whole_on_paper_is_not_rounded_up_by_a_last_place() {
    // 10 mm2 x 1 m x 7.85 is 78.5 g; twice that length is 157 g exactly.
    let weld = Weld {
        joint: Joint::Bead {
            area_um2: 10_000_000,
        },
        material: Material::Steel,
        length_mm: 2_000,
        over_weld_percent: 100,
        efficiency_percent: 100,
        ..butt()
    };
    assert_eq!(weld.work().expect("work").filler_g, 157);
    assert_eq!(rods(100, 25.0), 4);
    assert_eq!(rods(101, 25.0), 5);
    assert_eq!(rods(0, 25.0), 0);
    assert_eq!(rods(5, 0.0), 0);
    assert_eq!(rods(5, f64::NAN), 0);
}

#[test]
fn a_figure_that_no_weld_has_names_its_field() {
    let weld = butt();
    let change = |make: fn(&mut Weld)| {
        let mut changed = weld;
        make(&mut changed);
        changed
    };
    for (field, bad) in [
        ("length_mm", change(|it| it.length_mm = -6_000)),
        ("length_mm", change(|it| it.length_mm = 0)),
        ("passes", change(|it| it.passes = 0)),
        (
            "speed_mm_per_minute",
            change(|it| it.speed_mm_per_minute = 0),
        ),
        ("starts", change(|it| it.starts = Some(0))),
        ("over_weld_percent", change(|it| it.over_weld_percent = 99)),
        ("efficiency_percent", change(|it| it.efficiency_percent = 0)),
    ] {
        assert_eq!(bad.work().expect_err(field).field(), field);
    }
}

#[test]
fn a_shape_that_no_weld_has_names_its_field() {
    let v = |thickness_um, gap_um, root_face_um, angle_degrees| Joint::SingleV {
        thickness_um,
        gap_um,
        root_face_um,
        angle_degrees,
    };
    for (field, joint) in [
        ("leg_um", Joint::Fillet { leg_um: 0 }),
        ("area_um2", Joint::Bead { area_um2: 0 }),
        ("thickness_um", v(0, 0, 0, 60)),
        ("gap_um", v(3_000, -1, 0, 60)),
        ("angle_degrees", v(3_000, 0, 0, 180)),
        ("root_face_um", v(3_000, 0, 3_001, 60)),
        ("root_face_um", v(3_000, 0, -1, 60)),
    ] {
        let bad = Weld { joint, ..butt() };
        assert_eq!(bad.work().expect_err(field).field(), field);
    }
}

#[test]
fn what_is_refused_names_the_value_and_the_range() {
    let still = Weld {
        speed_mm_per_minute: 0,
        ..butt()
    };
    let said = still.work().expect_err("no speed").to_string();
    assert_eq!(said, "0 mm/min is out of range; give 5 to 5000 mm/min");
}

#[test]
fn a_weld_beyond_what_is_ever_counted_is_refused() {
    let long = Weld {
        length_mm: 10_000_000,
        passes: 100,
        speed_mm_per_minute: 5,
        ..butt()
    };
    assert!(matches!(long.work(), Err(WeldError::TooLong { .. })));
    let heavy = Weld {
        joint: Joint::Bead {
            area_um2: 5_000_000_000,
        },
        length_mm: 10_000_000,
        speed_mm_per_minute: 5_000,
        over_weld_percent: 300,
        efficiency_percent: 10,
        ..butt()
    };
    assert_eq!(heavy.work(), Err(WeldError::TooHeavy));
}
