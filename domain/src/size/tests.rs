//! Names and aliases, the refusal of everything between them, and the messages of refusals.

use proptest::prelude::*;

use super::*;

fn parsed(text: &str) -> Diameter {
    Diameter::parse(text).expect(text)
}

fn refusal(text: &str) -> String {
    Diameter::parse(text).expect_err(text).to_string()
}

#[test]
fn the_markings_of_three_thirty_seconds_are_one_size() {
    let markings = [
        "2.4",
        "2.4 mm",
        "2.4mm",
        "2.40",
        "2.3",
        "2.38",
        "2.381 mm",
        "3/32",
        "3/32in",
        "3/32 in",
        "3/32 IN",
        "3/32\"",
        "3 / 32 inch",
        "0.093 in",
        ".094in",
        "0.0938 in",
    ];
    for marking in markings {
        assert_eq!(parsed(marking).um(), 2_400, "{marking}");
    }
}

#[test]
fn no_tolerance_joins_what_the_trade_keeps_apart() {
    for (one, other) in [
        ("2.5", "2.4"),
        ("1.5", "1.6"),
        ("3.0", "3.2"),
        ("5.0", "4.8"),
        ("0.30", "0.25"),
    ] {
        assert_ne!(parsed(one), parsed(other));
    }
    for unknown in [
        "2.45", "2.39", "2.41", "2.35", "0.27", "6.32", "3.1", "0", "24", "2400",
    ] {
        let refused = Diameter::parse(unknown);
        assert!(
            matches!(refused, Err(ParseDiameterError::Unknown { .. })),
            "{unknown}"
        );
    }
}

#[test]
fn the_inch_figure_is_read_and_not_the_metric_column_beside_it() {
    assert_eq!(parsed("0.060 in").mm(), "1.5");
    assert_eq!(parsed("0.187 in").mm(), "4.8");
    assert_eq!(parsed("0.25").mm(), "0.25");
    assert_eq!(parsed("0.25 in").mm(), "6.4");
}

#[test]
fn an_unknown_figure_names_its_neighbours() {
    assert_eq!(
        refusal("2.45"),
        "2.45 is not a named diameter; the nearest are 2.4 mm and 2.5 mm"
    );
    assert_eq!(
        refusal("9 mm"),
        "9 mm is not a named diameter; the nearest is 6.4 mm"
    );
    assert_eq!(
        refusal("0.1 in"),
        "0.1 in is not a named diameter; the nearest are 2.5 mm and 3.0 mm"
    );
    assert!(refusal("thick").contains("such as 2.4 mm or 3/32 in"));
}

#[test]
fn a_decimal_comma_is_asked_about_and_not_guessed() {
    assert_eq!(refusal("2,4"), "2,4 has a decimal comma; write 2.4");
    assert_eq!(
        refusal("2,4 mm"),
        "2,4 mm has a decimal comma; write 2.4 mm"
    );
}

#[test]
fn a_fraction_that_became_a_date_is_named() {
    // 48274 is the day number of 1 March 2032, and 11749 that of 1 March 1932.
    let damaged = [
        "Mar-32",
        "mar-1932",
        "2032-03-01",
        "01/03/2032",
        "3/1/2032",
        "1-Mar-32",
        "48274",
        "11749",
    ];
    for text in damaged {
        assert_eq!(
            refusal(text),
            format!(
                "{text} looks like the fraction 3/32 turned into a date by the spreadsheet; write \
                 3/32in or format the column as text"
            )
        );
    }
    for (text, fraction) in [
        ("8-Jan", "1/8"),
        ("1-Aug", "1/8"),
        ("16-Mar", "3/16"),
        ("May-32", "5/32"),
        ("4-Jan", "1/4"),
    ] {
        assert!(
            refusal(text).contains(&format!("the fraction {fraction} turned")),
            "{text}"
        );
    }
}

#[test]
fn a_date_of_no_named_fraction_is_still_told_to_be_a_date() {
    let said = refusal("3-Feb");
    assert!(
        said.contains("a fraction such as 3/32 turned into a date"),
        "{said}"
    );
}

#[test]
fn inch_markings_lead_back_to_the_size() {
    for size in Diameter::ALL {
        assert_eq!(Diameter::parse(&size.to_string()), Ok(size));
        assert_eq!(Diameter::parse(size.mm()), Ok(size));
        assert_eq!(Diameter::from_um(size.um()), Some(size));
        if let Some(inch) = size.inch() {
            assert_eq!(parsed(&format!("{inch} in")), size);
        }
    }
    assert!(Diameter::ALL.is_sorted_by(|a, b| a.um() < b.um()));
    assert_eq!(Diameter::from_um(2_381), None);
}

#[test]
fn cup_numbers_outside_the_range_are_refused() {
    for number in [-7_i64, 0, 2, 25, 263] {
        assert_eq!(CupNumber::new(number), Err(CupNumberError(number)));
    }
    assert_eq!(CupNumber::new(16).map(CupNumber::inch), Ok("1".to_owned()));
    assert_eq!(
        CupNumber::new(20).map(CupNumber::inch),
        Ok("1 1/4".to_owned())
    );
}

#[test]
fn a_bore_names_a_cup_by_what_is_printed_and_by_nothing_else() {
    for (bore, number) in [
        ("11", 7),
        ("11.0 mm", 7),
        ("11.1125mm", 7),
        ("7/16", 7),
        ("7 / 16 in", 7),
        ("0.4375\"", 7),
        ("6/16 in", 6),
        ("1/2", 8),
        ("0.5 in", 8),
        ("1 in", 16),
        ("1 1/4 in", 20),
        ("14.29", 9),
    ] {
        assert_eq!(
            CupNumber::from_bore(bore).map(CupNumber::get),
            Ok(number),
            "{bore}"
        );
    }
    let refusal = |bore: &str| CupNumber::from_bore(bore).expect_err(bore).to_string();
    assert_eq!(
        refusal("7"),
        "7 is not the bore of a cup number; the nearest are no. 4 (6.35 mm, 1/4 in) and no. 5 (7.94 \
         mm, 5/16 in); measure again, or give the number"
    );
    assert!(refusal("0.45 in").contains("no. 7 (11.11 mm, 7/16 in) and no. 8"));
    assert!(refusal("60 mm").contains("the nearest is no. 24"));
    assert!(refusal("7/32").contains("such as 11 mm or 7/16 in"));
    assert_eq!(refusal("11,1"), "11,1 has a decimal comma; write 11.1");
    assert!(refusal("16-Jul").contains("turned into a date by the spreadsheet"));
    assert!(refusal(" ").contains("missing"));
    assert!(refusal("7/16 mm").contains("not the bore"));
}

#[test]
fn a_rod_length_is_exact_and_needs_its_unit() {
    assert_eq!(RodLength::parse("175 mm").map(RodLength::um), Ok(175_000));
    assert_eq!(RodLength::parse("7in").map(RodLength::um), Ok(177_800));
    assert_eq!(
        RodLength::parse("7 in").map(|l| l.to_string()),
        Ok("177.8 mm".to_owned())
    );
    assert!(matches!(
        RodLength::parse("7"),
        Err(RodLengthError::Unreadable(_))
    ));
    assert!(matches!(
        RodLength::parse("0.00001 in"),
        Err(RodLengthError::Unreadable(_))
    ));
    assert!(matches!(
        RodLength::parse("9.9 mm"),
        Err(RodLengthError::OutOfRange(9_900))
    ));
    assert!(matches!(
        RodLength::parse("28 in"),
        Err(RodLengthError::OutOfRange(711_200))
    ));
}

proptest! {
    #[test]
    fn no_text_makes_a_parser_panic(text in "\\PC{0,24}", tail in "[-0-9./, minJaMfeb\"]{0,16}") {
        for text in [&text, &tail] {
            if let Ok(size) = Diameter::parse(text) {
                prop_assert_eq!(Diameter::parse(&size.to_string()), Ok(size));
            }
            if let Ok(cup) = CupNumber::from_bore(text) {
                prop_assert_eq!(CupNumber::from_bore(&format!("{} in", cup.inch())), Ok(cup));
            }
            if let Ok(length) = RodLength::parse(text) {
                prop_assert_eq!(RodLength::parse(&length.to_string()), Ok(length));
            }
        }
    }

    #[test]
    fn a_figure_is_a_size_only_if_it_is_in_print(thousandths in 0_u32..8_000) {
        let text = format!("{}.{:03}", thousandths / 1000, thousandths % 1000);
        // The names and aliases, typed from the trade's tables in micrometres.
        let printed = [
            250, 254, 300, 500, 508, 1000, 1016, 1020, 1200, 1500, 1588, 1590, 1600, 1980, 1984,
            2000, 2300, 2380, 2381, 2400, 2500, 3000, 3175, 3180, 3200, 3969, 3970, 4000, 4760,
            4763, 4800, 5000, 6300, 6350, 6400,
        ];
        prop_assert_eq!(Diameter::parse(&text).is_ok(), printed.contains(&thousandths));
    }

    #[test]
    fn a_bore_in_hundredths_is_a_cup_only_if_it_is_in_print(hundredths in 400_u32..4_000) {
        // By the number to two decimals, from no. 3 to no. 24, and the figures of the trade.
        let printed = [
            476, 600, 635, 650, 794, 800, 950, 953, 1000, 1100, 1110, 1111, 1250, 1270, 1429, 1588,
            1600, 1746, 1750, 1900, 1905, 2064, 2223, 2381, 2540, 2699, 2858, 3016, 3175, 3334,
            3493, 3651, 3810,
        ];
        let text = format!("{}.{:02} mm", hundredths / 100, hundredths % 100);
        prop_assert_eq!(CupNumber::from_bore(&text).is_ok(), printed.contains(&hundredths));
    }

    #[test]
    fn rod_lengths_read_back(um in RodLength::MIN_UM..=RodLength::MAX_UM) {
        let length = RodLength::from_um(um).expect("in range");
        prop_assert_eq!(RodLength::parse(&length.to_string()), Ok(length));
    }
}

/// The named fractions, by the table of the trade: numerator, denominator, marking.
const NAMED_FRACTIONS: [(u32, u32, &str); 7] = [
    (1, 16, "1/16"),
    (5, 64, "5/64"),
    (3, 32, "3/32"),
    (1, 8, "1/8"),
    (5, 32, "5/32"),
    (3, 16, "3/16"),
    (1, 4, "1/4"),
];

/// How cells show and files store a day: as text, in ISO 8601, and as a serial number.
fn forms_of_day(day: chrono::NaiveDate) -> Vec<String> {
    let epoch = chrono::NaiveDate::from_ymd_opt(1899, 12, 30).expect("a day");
    let serial = (day - epoch).num_days();
    let mut forms: Vec<String> = [
        "%Y-%m-%d",
        "%Y-%m-%d 00:00:00",
        "%Y-%m-%dT00:00:00",
        "%Y-%m-%dT00:00:00.000Z",
        "%m/%d/%Y",
        "%-m/%-d/%Y",
        "%d.%m.%Y",
        "%-d-%b-%Y",
        "%d-%b-%Y",
        "%b %-d %Y",
    ]
    .iter()
    .map(|form| day.format(form).to_string())
    .collect();
    forms.extend([serial.to_string(), format!("{serial}.0")]);
    forms
}

/// All that a spreadsheet may make of a fraction in a year: month and day, day and month, month and
/// year.
fn damage(over: u32, under: u32, year: i32) -> Vec<String> {
    let day = |year, month, day| chrono::NaiveDate::from_ymd_opt(year, month, day);
    let month_and_day = day(year, over, under);
    let day_and_month = day(year, under, over);
    let without_year = [month_and_day, day_and_month].into_iter().flatten();
    let mut forms: Vec<String> = without_year
        .flat_map(|day| ["%-d-%b", "%d-%b", "%b %-d", "%d/%b"].map(|f| day.format(f).to_string()))
        .collect();
    let century = if under < 30 { 2_000 } else { 1_900 };
    let years = [century, 2_000].map(|century| century + i32::try_from(under).expect("small"));
    // Day numbers are told from other figures from 1925 on.
    let month_and_year = years.map(|year| day(year, over, 1).filter(|_| year >= 1925));
    for first in month_and_year.into_iter().flatten() {
        forms.extend(["%b-%y", "%B %Y", "%b-%Y"].map(|f| first.format(f).to_string()));
        forms.extend(forms_of_day(first));
    }
    for day in [month_and_day, day_and_month].into_iter().flatten() {
        forms.extend(forms_of_day(day));
    }
    forms.push(format!("{over}/{under}/{year}"));
    forms
}

proptest! {
    #[test]
    fn every_named_fraction_is_found_in_each_form_of_date(year in 1926_i32..2100) {
        for (over, under, marking) in NAMED_FRACTIONS {
            for form in damage(over, under, year) {
                let said = refusal(&form);
                let words = format!("the fraction {marking} turned into a date by the spreadsheet; write {marking}in");
                prop_assert!(said.contains(&words), "{marking} as {form}: {said}");
            }
        }
    }

    #[test]
    fn a_day_that_no_fraction_explains_is_still_not_a_size(month in 1_u32..13, day in 1_u32..29, year in 2065_i32..2100) {
        let explained = NAMED_FRACTIONS
            .iter()
            .any(|(o, u, _)| (*o, *u) == (month, day) || (*o, *u) == (day, month));
        prop_assume!(!explained);
        let day = chrono::NaiveDate::from_ymd_opt(year, month, day).expect("a day");
        for form in forms_of_day(day) {
            let said = refusal(&form);
            prop_assert!(said.contains("a fraction such as 3/32 turned into a date"), "{form}: {said}");
        }
    }
}

#[test]
fn the_forms_of_a_date_are_told_with_the_fraction_that_they_came_from() {
    for (form, marking) in [
        ("Mar-32", "3/32"),
        ("32-Mar", "3/32"),
        ("March 1932", "3/32"),
        ("3/32/2026", "3/32"),
        ("2032-03-01", "3/32"),
        ("2032-03-01 00:00:00", "3/32"),
        ("1932-03-01T00:00:00Z", "3/32"),
        // 1 March 1932 and 1 March 2032.
        ("11749", "3/32"),
        ("48274", "3/32"),
        ("48274.0", "3/32"),
        ("16-Jan", "1/16"),
        ("8-Jan", "1/8"),
        ("1-Aug", "1/8"),
        ("1-Apr", "1/4"),
        ("May-32", "5/32"),
        ("May-64", "5/64"),
        ("16.03.2026", "3/16"),
    ] {
        let said = refusal(form);
        let words = format!("the fraction {marking} turned into a date");
        assert!(said.contains(&words), "{form}: {said}");
    }
    // The third of February is 2/3 or 3/2, neither a size: an example is given, and called so.
    for form in ["3-Feb", "03-Feb", "2026-02-03", "46056", "46056.0"] {
        let said = refusal(form);
        assert!(said.contains("a fraction such as 3/32"), "{form}: {said}");
    }
}

#[test]
fn figures_that_are_no_dates_are_not_called_dates() {
    for text in [
        "46056.5",
        "3/32/26000",
        "12:00",
        "2.4.",
        "9132",
        "73416",
        "00:00",
    ] {
        let said = refusal(text);
        assert!(!said.contains("date"), "{text}: {said}");
    }
}
