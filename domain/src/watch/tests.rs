//! Limits and filters as people write them, and what they come to.

use super::*;
use crate::part::PartSpec;

#[test]
fn a_limit_that_cannot_be_says_what_would_do() {
    let why = |text: &str| Limit::parse(text).expect_err(text).to_string();
    assert!(why("-4").contains("below zero"));
    assert!(why("chance 0%").contains("chance 10%"));
    assert!(why("chance 100%").contains("chance 10%"));
    assert!(why("chance NaN").contains("chance 10%"));
    assert!(why("cover 0d").contains("cover 14d"));
    assert!(why("cover 367").contains("1 to 366"));
    assert!(why("soon").contains("order point"));
    assert!(why("1000001").contains("number of pieces"));
}

#[test]
fn a_limit_reads_back_as_it_is_shown() {
    for text in ["order point", "0", "12", "chance 12.5%", "cover 30d"] {
        let limit = Limit::parse(text).expect(text);
        assert_eq!(limit.to_string(), text);
    }
    assert_eq!(Limit::parse("chance 0.1"), Limit::parse("Chance 10 %"));
}

#[test]
fn every_limit_comes_to_an_order_point_in_pieces() {
    // Of the law with P(use <= 1) = 0.84, P(use <= 2) = 0.965 over the lead time: at a chance of 10 %
    // one is too few and two will do.
    let use_at = |days: Option<u32>, chance: f64| match days {
        None if chance <= 0.84 => Some(1),
        None => Some(2),
        Some(days) => Some(i64::from(days / 7)),
    };
    let point = |limit: Limit| limit.point(Some(4), use_at);
    assert_eq!(point(Limit::OrderPoint), Some(4));
    assert_eq!(point(Limit::Chance(0.1)), Some(1));
    assert_eq!(point(Limit::Chance(0.2)), Some(0));
    assert_eq!(point(Limit::Cover(14)), Some(2));
    assert_eq!(point(Limit::Pieces(9)), Some(9));
    assert_eq!(Limit::OrderPoint.point(None, use_at), None);
}

fn electrode(class: &str, diameter: &str) -> PartSpec {
    PartSpec::Electrode {
        class: crate::class::ElectrodeClass::parse(class).expect("a class"),
        diameter: crate::size::Diameter::parse(diameter).expect("a diameter"),
        length: None,
    }
}

#[test]
fn a_filter_takes_sizes_by_name_and_never_by_tolerance() {
    let filter = Filter::parse("Electrode 1/16in WLa20 WCe20").expect("a filter");
    assert_eq!(filter.to_string(), "electrode 1.6 WCe20,WLa20");
    assert!(filter.matches(&electrode("WLa20", "1.6")));
    assert!(filter.matches(&electrode("WCe20", "1.6")));
    assert!(!filter.matches(&electrode("WLa15", "1.6")));
    assert!(!filter.matches(&electrode("WLa20", "1.5")));
    assert!(!filter.matches(&PartSpec::TungstenWheel));
    assert!(
        filter.nearness(&electrode("WLa20", "2.4")) > filter.nearness(&electrode("WTh20", "2.4"))
    );
    let any = Filter::parse("electrode").expect("a filter");
    assert!(any.matches(&electrode("WTh20", "2.4")));
}

#[test]
fn a_filter_names_the_word_that_it_does_not_understand() {
    let why = |text: &str| Filter::parse(text).expect_err(text).to_string();
    assert!(why(" ").contains("missing"));
    assert!(
        why("rod 1.6").contains("rod is not a kind"),
        "{}",
        why("rod 1.6")
    );
    assert!(why("electrode 1.7").contains("1.7"));
    assert!(why("electrode WLa99").contains("WLa99"));
    assert!(why("collet 2.4 WLa20").contains("WLa20"));
    assert!(why("cup 99").contains("99"));
    let cup = Filter::parse("cup 7,8").expect("a filter");
    assert_eq!(cup.to_string(), "cup 7,8");
}
