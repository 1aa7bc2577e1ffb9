//! Electrode classes against table 1 of the two standards, and what their colours have meant.

use domain::class::{ElectrodeClass, ParseClassError};

/// ISO 6848 symbol, AWS A5.12 classification, oxide, colour since 2009.
const TABLE: [(&str, Option<&str>, &str, Option<&str>); 11] = [
    ("WP", Some("EWP"), "none", Some("green")),
    ("WCe20", Some("EWCe-2"), "ceria", Some("grey")),
    ("WLa10", Some("EWLa-1"), "lanthana", Some("black")),
    ("WLa15", Some("EWLa-1.5"), "lanthana", Some("gold")),
    ("WLa20", Some("EWLa-2"), "lanthana", Some("blue")),
    ("WTh10", Some("EWTh-1"), "thoria", Some("yellow")),
    ("WTh20", Some("EWTh-2"), "thoria", Some("red")),
    ("WTh30", None, "thoria", Some("violet")),
    ("WZr3", Some("EWZr-1"), "zirconia", Some("brown")),
    ("WZr8", Some("EWZr-8"), "zirconia", Some("white")),
    ("WG", Some("EWG"), "as the maker states", None),
];

#[test]
fn symbols_and_classifications_are_those_of_the_standards() {
    for (symbol, aws, oxide, colour) in TABLE {
        let class = ElectrodeClass::parse(symbol).expect("a class of the standard");
        assert_eq!(class.symbol(), symbol);
        assert_eq!(class.aws(), aws);
        assert_eq!(class.oxide(), oxide);
        assert_eq!(class.colour(), colour);
        if let Some(aws) = aws {
            assert_eq!(ElectrodeClass::parse(aws), Ok(class));
        }
    }
}

#[test]
fn earlier_symbols_mean_the_present_classes() {
    // WT, WL, WC and WZ of earlier editions are WTh, WLa, WCe and WZr.
    let pairs = [
        ("WT20", "WTh20"),
        ("WL15", "WLa15"),
        ("WC20", "WCe20"),
        ("WZ8", "WZr8"),
    ];
    for (earlier, present) in pairs {
        assert_eq!(
            ElectrodeClass::parse(earlier),
            ElectrodeClass::parse(present)
        );
    }
}

#[test]
fn thorium_is_never_ruled_out_without_a_class_that_excludes_it() {
    for (symbol, _, oxide, _) in TABLE {
        let class = ElectrodeClass::parse(symbol).expect("a class of the standard");
        let expected = oxide == "thoria" || oxide == "as the maker states";
        assert_eq!(class.is_possibly_thoriated(), expected, "{symbol}");
    }
    assert!(ElectrodeClass::Unidentified.is_possibly_thoriated());
}

#[test]
fn bands_with_two_meanings_name_both() {
    // Grey: ceria, or the general class of 1998. Orange: ceria before 2009, or 4 % thoria.
    // Violet: 3 % thoria, or a mixed oxide. A lighter blue: 0.4 % thoria.
    let bands = [
        ("grey", ["WCe20", "general class"]),
        ("orange", ["WCe20", "thoria"]),
        ("violet", ["WTh30", "mixed oxide"]),
        ("blue", ["WLa20", "thoria"]),
    ];
    for (band, parts) in bands {
        let Err(ParseClassError::Colour { meanings, .. }) = ElectrodeClass::parse(band) else {
            panic!("{band} was taken for a class");
        };
        for part in parts {
            assert!(meanings.contains(part), "{band}: {meanings}");
        }
    }
}
