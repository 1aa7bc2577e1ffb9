//! Labels as they hang on drawers, all invented, with what each says and what it leaves open.

use proptest::prelude::*;

use super::*;

const fn none() -> Fields {
    Fields {
        kind: None,
        class: None,
        diameter: None,
        rod_length: None,
        collet_length: None,
        cap_length: None,
        family: None,
        arrangement: None,
        cup: None,
        seat: None,
        composition: None,
    }
}

fn large() -> Fields {
    Fields {
        family: Some(BodyFamily::Large),
        ..none()
    }
}

/// The part in words, or the fields that are asked for.
fn understood(label: &str, told: &Fields) -> String {
    let proposal = read(label, told);
    if let Some(spec) = proposal.spec() {
        return spec.describe();
    }
    let questions = proposal.questions.iter();
    let mut asked: Vec<&str> = questions.map(|it| it.field.as_str()).collect();
    asked.dedup();
    format!("? {}", asked.join(" "))
}

#[test]
fn labels_of_electrodes() {
    for (label, said) in [
        ("3/32 blue lanthanated 7in", "? class"),
        ("3/32 blue 7in electrode", "? class"),
        ("3/32 lanthanated", "? class"),
        (
            "3/32 2% lanthanated 7in",
            "Electrode WLa20 2.4 mm, 177.8 mm long",
        ),
        ("2.4 WLa20", "Electrode WLa20 2.4 mm"),
        ("WLa20 2,4mm x 175mm", "? diameter"),
        ("WLa20 2.4mm x 175mm", "Electrode WLa20 2.4 mm, 175 mm long"),
        ("WLa20 2.4x175", "Electrode WLa20 2.4 mm, 175 mm long"),
        (
            "EWLa-1.5 1/16\" x 7\"",
            "Electrode WLa15 1.6 mm, 177.8 mm long",
        ),
        ("tungsten EWTh-2 1/8", "Electrode WTh20 3.2 mm"),
        ("red tungsten 1/8", "? class"),
        ("thoriated 2 % 1/8 in", "Electrode WTh20 3.2 mm"),
        ("ceriated 1/16", "? class"),
        ("ceriated 2% 1/16", "Electrode WCe20 1.6 mm"),
        ("pure tungsten 3/32", "Electrode WP 2.4 mm"),
        ("WLa20 .040", "Electrode WLa20 1.0 mm"),
        ("WLa20 .040in", "Electrode WLa20 1.0 mm"),
        ("WLa20 0.25", "? diameter"),
        ("WLa20 2.5 mm (3/32)", "? diameter"),
        ("WLa20 3/32 (2.4 mm)", "Electrode WLa20 2.4 mm"),
        ("WLa20 2.45 mm", "? diameter"),
        ("WLa20 1 1/4", "? diameter"),
        ("WLa20 2 3/32", "? diameter"),
        ("WLa20 3/32 x 7", "? length"),
        ("WLa20 3/32 36in", "? length"),
        ("WLa20 Mar-32", "? diameter"),
        ("WLa20 3-Feb", "? diameter"),
        ("WLa20 3/32/2026", "? diameter"),
        ("WLa20 48274", "? diameter"),
        ("WLa20 Mar 32", "? diameter"),
        ("WLa20 thoriated 3/32", "? class"),
        ("WLa20 WCe20 3/32", "? class"),
        ("unidentified 2.4 mm stubs", "Electrode unidentified 2.4 mm"),
        ("WLa20 7in", "? diameter"),
        ("WLa20 3/32 lot 77", "? diameter"),
        ("WLa20 3/32 A77", "? kind"),
    ] {
        assert_eq!(understood(label, &none()), said, "{label}");
    }
}

/// A label, what is understood of it alone, and in a shop whose torches have large bodies.
const OF_THE_FRONT_END: &[(&str, &str, &str)] = &[
    ("#7 cup gas lens", "? family", "Cup no. 7, gas-lens seat"),
    ("cup no. 7", "? seat family", "? seat"),
    ("#7", "? kind", "? kind"),
    ("#7 gas lens", "? kind", "? kind"),
    ("nozzle 8 standard", "? family", "Cup no. 8, standard seat"),
    (
        "no. 6 ceramic cup for collet body",
        "? family",
        "Cup no. 6, standard seat",
    ),
    ("7/16 cup gas lens", "? family", "Cup no. 7, gas-lens seat"),
    (
        "1 1/4 cup large gas lens",
        "? family",
        "Cup no. 20, large-gas-lens seat",
    ),
    ("11 mm cup gas lens", "? family", "Cup no. 7, gas-lens seat"),
    ("large cup #8", "? seat family", "? seat"),
    ("cup #7 #8 gas lens", "? cup_number family", "? cup_number"),
    (
        "cup 2032-03-01",
        "? cup_number seat family",
        "? cup_number seat",
    ),
    ("collet 2.4", "? family", "Collet 2.4 mm, large body"),
    (
        "large collet 3/32",
        "Collet 2.4 mm, large body",
        "Collet 2.4 mm, large body",
    ),
    (
        "small body collet 1/16 stubby",
        "Collet 1.6 mm, short, small body",
        "Collet 1.6 mm, short, large body",
    ),
    ("collets and cups", "? kind", "? kind"),
    (
        "3/32 collet body",
        "? family",
        "Collet body 2.4 mm, large body",
    ),
    (
        "collet body 2.4 short nose, small body",
        "Collet body 2.4 mm, short nose, small body",
        "Collet body 2.4 mm, short nose, large body",
    ),
    ("gas lens 2.4", "? family", "Gas lens 2.4 mm, large body"),
    (
        "gas lens collet body 1/8",
        "? family",
        "Gas lens 3.2 mm, large body",
    ),
    (
        "large gas lens 1/8",
        "? family",
        "Gas lens 3.2 mm, large diameter, large body",
    ),
    (
        "small gas lens 1/8",
        "? arrangement family",
        "? arrangement",
    ),
    (
        "large cap o ring",
        "O-ring, back cap, large body",
        "O-ring, back cap, large body",
    ),
    ("O-rings", "? family", "O-ring, back cap, large body"),
    ("long back cap", "? family", "Back cap, long, large body"),
    ("large back cap", "? length family", "? length"),
    (
        "large cap long",
        "Back cap, long, large body",
        "Back cap, long, large body",
    ),
    ("insulator", "? arrangement family", "? arrangement"),
    (
        "gas lens insulator",
        "? family",
        "Insulator for gas lens, large body",
    ),
    (
        "standard cup gasket",
        "? family",
        "Standard insulator, large body",
    ),
    ("collet 2.5", "? family", "Collet 2.5 mm, large body"),
    ("collet 2", "? diameter family", "? diameter"),
    (
        "pink cup #7 gas lens",
        "? family",
        "Cup no. 7, gas-lens seat",
    ),
    ("3/32 bits", "? kind", "? kind"),
];

#[test]
fn labels_of_the_front_end_ask_for_the_torch_body_unless_it_is_told() {
    for (label, alone, for_large_body) in OF_THE_FRONT_END {
        assert_eq!(understood(label, &none()), *alone, "{label}");
        assert_eq!(
            understood(label, &large()),
            *for_large_body,
            "{label}, large"
        );
    }
}

#[test]
fn labels_of_what_does_not_go_into_a_torch() {
    for (label, said) in [
        ("1/16 x 36 ER70S-2", "Filler rod ER70S-2 1.6 mm"),
        ("er308l 3/32", "Filler rod ER308L 2.4 mm"),
        ("ER4043 1/8 x 36in", "Filler rod ER4043 3.2 mm"),
        ("filler rod 1/16", "? composition"),
        ("ER70S-2", "? diameter"),
        ("argon", "Shielding gas I1"),
        ("shielding gas I3", "Shielding gas I3"),
        ("gas 75/25", "? composition"),
        ("diamond wheel 150 mm", "Tungsten wheel"),
        ("gloves", "? kind"),
        ("3/32 blue", "? kind"),
        ("", "? kind"),
    ] {
        assert_eq!(understood(label, &none()), said, "{label}");
    }
}

/// The rule of journeys that must not bend: no colour, in no words, leads to a class.
#[test]
fn no_colour_tells_a_class_and_the_question_says_so() {
    for colour in [
        "green",
        "grey",
        "gray",
        "orange",
        "black",
        "gold",
        "blue",
        "yellow",
        "red",
        "violet",
        "purple",
        "white",
        "brown",
        "pink",
        "turquoise",
        "lilac",
    ] {
        for label in [
            format!("3/32 {colour} tungsten"),
            format!("{colour} band electrode 2.4 mm 175 mm"),
            format!("3/32 {colour} lanthanated"),
        ] {
            let proposal = read(&label, &none());
            assert_eq!(proposal.fields.class, None, "{label}");
            assert!(proposal.spec().is_none(), "{label}");
            let asked = &proposal.questions[0];
            assert_eq!(asked.field, Field::Class, "{label}");
            assert!(
                asked.asks.contains("a colour is no identity"),
                "{}",
                asked.asks
            );
            assert!(
                asked.asks.contains("printed on the packet"),
                "{}",
                asked.asks
            );
        }
    }
}

#[test]
fn lanthanated_alone_leaves_three_classes_open() {
    let asks = &read("3/32 blue lanthanated 7in", &none()).questions[0].asks;
    for class in ["WLa10", "WLa15", "WLa20"] {
        assert!(asks.contains(class), "{asks}");
    }
    let fields = read("3/32 blue lanthanated 7in", &none()).fields;
    assert_eq!(fields.kind, Some(PartKind::Electrode));
    assert_eq!(fields.diameter, Diameter::parse("3/32 in").ok());
    assert_eq!(fields.rod_length, RodLength::parse("7 in").ok());
}

#[test]
fn what_a_person_told_goes_before_the_label_and_is_not_asked_again() {
    let told = Fields {
        class: Some(ElectrodeClass::WLa15),
        ..none()
    };
    let proposal = read("3/32 blue lanthanated 7in", &told);
    let spec = proposal.spec().map(|spec| spec.describe());
    assert_eq!(
        spec.as_deref(),
        Some("Electrode WLa15 2.4 mm, 177.8 mm long")
    );
    let told = Fields {
        kind: Some(PartKind::Electrode),
        diameter: Diameter::parse("2.4").ok(),
        ..none()
    };
    assert_eq!(
        understood("WLa20 3/32 lot 77", &told),
        "Electrode WLa20 2.4 mm"
    );
    assert_eq!(
        read("WLa20 3/32 lot 77", &told).not_understood,
        ["77", "lot"]
    );
}

#[test]
fn a_fraction_that_became_a_date_is_explained() {
    let asks = &read("collet Mar-32 large", &none()).questions[0];
    assert_eq!(asks.field, Field::Diameter);
    assert!(
        asks.asks.contains("the fraction 3/32 turned into a date"),
        "{}",
        asks.asks
    );
    let alone = read("Mar-32", &none());
    assert!(
        alone.questions.iter().any(|it| it.asks.contains("3/32")),
        "{alone:?}"
    );
}

#[test]
fn the_marking_as_printed_is_kept_where_a_procedure_may_be_written_in_it() {
    let marking = |label| read(label, &none()).marking;
    assert_eq!(marking("EWLa-2 3/32").as_deref(), Some("3/32 EWLa-2"));
    assert_eq!(marking("WLa20 3/32 in").as_deref(), Some("3/32 in WLa20"));
    assert_eq!(marking("WLa20 2.4 mm"), None);
}

#[test]
fn parts_that_differ_have_codes_that_differ() {
    let mut codes = Vec::new();
    for label in [
        "WLa20 2.4",
        "WLa20 2.4 175 mm",
        "WLa20 2.5",
        "EWP 2.4",
        "collet 2.4 large",
        "collet 2.4 small",
        "collet 2.4 large short",
        "collet body 2.4 large",
        "collet body 2.4 large short nose",
        "gas lens 2.4 large body",
        "large gas lens 2.4 large body",
        "#7 cup gas lens large body",
        "#7 cup standard large body",
        "#7 cup gas lens small body",
        "long cap large",
        "short cap large",
        "o-ring large",
        "o-ring small",
        "gas lens insulator large body",
        "standard insulator large body",
        "ER70S-2 1/16",
        "ER70S-2 3/32",
        "ER70S-6 1/16",
        "argon",
        "gas M21",
        "tungsten wheel",
    ] {
        let spec = read(label, &none()).spec();
        let code = code(&spec.unwrap_or_else(|| panic!("{label}: {}", understood(label, &none()))));
        assert!(crate::code::Code::parse("part", &code).is_ok(), "{code}");
        assert!(!codes.contains(&code), "{label}: {code} is there twice");
        codes.push(code);
    }
    assert_eq!(codes[0], "WLa20-2.4");
    assert_eq!(codes[11], "cup-7-gas-lens");
}

proptest! {
    #[test]
    fn no_label_makes_the_reader_panic(label in "\\PC{0,60}") {
        let proposal = read(&label, &none());
        prop_assert!(proposal.spec().is_some() || !proposal.questions.is_empty(), "{:?}", proposal);
    }

    #[test]
    fn words_of_the_trade_in_any_order_are_a_part_or_a_question(
        words in prop::collection::vec(
            prop::sample::select(vec![
                "3/32", "2.4", "7in", "x", "#7", "no.", "7", "cup", "gas", "lens", "collet", "body", "large", "small",
                "blue", "lanthanated", "2%", "WLa20", "Mar-32", "1", "1/4", "o-ring", "cap", "short", "ER70S-2", ",",
            ]),
            0..7,
        )
    ) {
        let label = words.join(" ");
        let proposal = read(&label, &none());
        prop_assert!(proposal.spec().is_some() || !proposal.questions.is_empty(), "{}: {:?}", label, proposal);
        // A class comes from a symbol or from an oxide with its share, never from less.
        let says_class = words.contains(&"WLa20") || (words.contains(&"lanthanated") && words.contains(&"2%"));
        prop_assert!(says_class || proposal.fields.class.is_none(), "{}", label);
    }
}
