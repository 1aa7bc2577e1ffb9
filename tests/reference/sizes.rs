//! Diameters, cup numbers and lengths against the trade's tables and the definition of the inch.

use domain::size::{CupNumber, Diameter, RodLength};

/// Metric name, inch marking, and the gap between the two in thousandths of a millimetre.
const PAIRS: [(&str, &str, f64); 10] = [
    ("0.25", "0.010 in", 4.0),
    ("0.5", "0.020 in", 8.0),
    ("1.0", "0.040 in", 16.0),
    ("1.6", "1/16", 12.5),
    ("2.0", "5/64", 15.625),
    ("2.4", "3/32", 18.75),
    ("3.2", "1/8", 25.0),
    ("4.0", "5/32", 31.25),
    ("4.8", "3/16", 37.5),
    ("6.4", "1/4", 50.0),
];

/// The figure of a fraction or a decimal, in inches.
fn inches(marking: &str) -> f64 {
    let figure = marking.trim_end_matches(" in");
    let number = |text: &str| text.parse::<f64>().expect("a number");
    match figure.split_once('/') {
        Some((over, under)) => number(over) / number(under),
        None => number(figure),
    }
}

fn diameter(marking: &str) -> Diameter {
    Diameter::parse(marking).expect("a named size")
}

#[test]
fn metric_and_inch_markings_of_the_trade_are_one_size() {
    for (mm, inch, gap) in PAIRS {
        let size = diameter(mm);
        assert_eq!(size, diameter(inch), "{mm} and {inch}");
        assert_eq!(size.mm(), mm);
        // The name is not the measure: 3/32 in is 2.381 mm and is still called 2.4.
        let nominal = f64::from(i32::try_from(size.um()).expect("a few thousand"));
        assert!(
            ((nominal - inches(inch) * 25_400.0).abs() - gap).abs() < 1e-6,
            "{mm}"
        );
    }
}

#[test]
fn sizes_that_nearly_agree_stay_apart() {
    let near = [
        ("0.25", "0.30"),
        ("1.0", "1.2"),
        ("1.5", "1.6"),
        ("2.4", "2.5"),
        ("3.0", "3.2"),
    ];
    for (one, other) in near
        .into_iter()
        .chain([("4.8", "5.0"), ("0.060 in", "1/16")])
    {
        assert_ne!(diameter(one), diameter(other), "{one} and {other}");
    }
    assert!(Diameter::parse("2.45").is_err());
}

#[test]
fn a_cup_number_is_its_bore_in_sixteenths_of_an_inch() {
    let table = [
        (4, "1/4", 6.35),
        (5, "5/16", 7.94),
        (6, "3/8", 9.53),
        (7, "7/16", 11.11),
        (8, "1/2", 12.70),
        (10, "5/8", 15.88),
        (11, "11/16", 17.46),
        (12, "3/4", 19.05),
    ];
    for (number, inch, mm) in table {
        let cup = CupNumber::new(number).expect("a cup number");
        assert_eq!(cup.inch(), inch);
        let bore = f64::from(i32::try_from(cup.bore_um()).expect("a few thousand")) / 1000.0;
        // The table has two decimals.
        assert!((bore - mm).abs() <= 0.0051, "no. {number}: {bore}, {mm}");
        assert!(
            (bore - inches(inch) * 25.4).abs() <= 0.000_51,
            "no. {number}: {bore}"
        );
    }
}

#[test]
fn printed_bores_name_the_number_they_are_printed_for() {
    // A torch manual and a parts guide (common practice): no. 4 6-6.5, no. 5 8, no. 6 9.5-10, no. 7
    // 11, no. 8 12.5, no. 10 16, no. 11 17.5, no. 12 19, beside the exact figures and fractions.
    let printed: [(u8, &[&str]); 8] = [
        (4, &["6", "6.5", "6.35", "1/4"]),
        (5, &["8", "7.94", "5/16"]),
        (6, &["9.5", "10", "9.53", "9.525", "3/8"]),
        (7, &["11", "11.0", "11.1", "11.11", "7/16"]),
        (8, &["12.5", "12.7", "1/2"]),
        (10, &["16", "15.88", "5/8"]),
        (11, &["17.5", "17.46", "11/16"]),
        (12, &["19", "19.05", "3/4"]),
    ];
    for (number, bores) in printed {
        for bore in bores {
            let cup = CupNumber::from_bore(bore).map(CupNumber::get);
            assert_eq!(cup, Ok(number), "{bore}");
        }
    }
    // What lies between is nobody's: no. 6 is not "about 9 mm".
    for bore in ["7", "9", "9.6", "11.5", "12", "12.6", "15", "17", "18"] {
        assert!(CupNumber::from_bore(bore).is_err(), "{bore}");
    }
}

#[test]
fn rod_lengths_in_inches_are_exact_by_the_definition_of_the_inch() {
    // 1 in = 25.4 mm exactly.
    let lengths = [
        ("3 in", 76_200),
        ("6 in", 152_400),
        ("7in", 177_800),
        ("24 in", 609_600),
    ];
    for (marking, um) in lengths {
        assert_eq!(
            RodLength::parse(marking).map(RodLength::um),
            Ok(um),
            "{marking}"
        );
    }
    assert_ne!(RodLength::parse("7 in"), RodLength::parse("175 mm"));
}
