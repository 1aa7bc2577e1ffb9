//! Units and properties of the advice. Values of printed tables are held against it in the suite
//! of figures from outside.

use proptest::prelude::*;

use super::*;
use crate::class::ElectrodeClass;
use crate::size::Diameter;

fn mm(text: &str) -> Diameter {
    Diameter::parse(text).expect("a named size")
}

fn amps(text: &str) -> Current {
    Current::parse(text).expect("a current")
}

#[test]
fn a_current_is_read_with_or_without_its_unit() {
    for text in ["125", "125 A", "125A", " 125.0 a "] {
        assert_eq!(amps(text).amps().to_string(), "125", "{text}");
    }
    for (text, told) in [
        ("0", "0 A is out of range; give over 0 and at most 2000 A"),
        (
            "-5 A",
            "-5 A is out of range; give over 0 and at most 2000 A",
        ),
        (
            "2000.5",
            "2000.5 A is out of range; give over 0 and at most 2000 A",
        ),
        ("inf", "inf is not a current; give amperes, such as 125"),
        ("1e2", "1e2 is not a current; give amperes, such as 125"),
        ("", " is not a current; give amperes, such as 125"),
    ] {
        let error = Current::parse(text).expect_err(text);
        assert_eq!(error.to_string(), told);
    }
    assert!(Current::parse("2000").is_ok());
}

#[test]
fn a_band_has_its_least_below_its_greatest_and_both_in_reach() {
    assert_eq!(
        Band::new(60, 60),
        Err(BandError::Reversed { low: 60, high: 60 })
    );
    assert_eq!(
        Band::new(90, 60),
        Err(BandError::Reversed { low: 90, high: 60 })
    );
    assert_eq!(Band::new(0, 60), Err(BandError::OutOfRange(0)));
    assert_eq!(Band::new(60, 2_001), Err(BandError::OutOfRange(2_001)));
    let band = Band::new(60, 90).expect("a band");
    for (text, position) in [
        ("59.9", Position::Below),
        ("60", Position::Inside),
        ("90", Position::Inside),
        ("90.1", Position::Above),
    ] {
        assert_eq!(band.position(amps(text)), position, "{text}");
    }
}

#[test]
fn exactly_alternating_current_has_a_wave() {
    for setting in Setting::ALL {
        let again = Setting::of(setting.polarity(), setting.wave());
        assert_eq!(again, Some(*setting));
    }
    assert_eq!(Setting::of(Polarity::Ac, None), None);
    assert_eq!(Setting::of(Polarity::Dcen, Some(Wave::Balanced)), None);
}

#[test]
fn a_class_that_is_not_known_is_not_guessed() {
    let both = [Group::Oxide, Group::Pure];
    assert_eq!(Group::of(None), both);
    assert_eq!(Group::of(Some(ElectrodeClass::Unidentified)), both);
    for class in ElectrodeClass::ALL {
        let one = class != ElectrodeClass::Unidentified;
        assert_eq!(Group::of(Some(class)).len() == 1, one, "{class}");
    }
}

#[test]
fn a_table_that_does_not_use_an_electrode_so_is_not_inside() {
    let told = judge(amps("10"), mm("1.0"), Setting::Dcep, Group::Oxide);
    assert_eq!(told.verdict, Verdict::OutsideAll);
    assert!(
        told.tables
            .iter()
            .all(|it| it.position == Position::NotUsed)
    );
}

#[test]
fn a_size_that_no_table_has_is_not_listed() {
    for size in ["0.30", "1.2", "1.5", "2.0", "2.5", "3.0", "5.0"] {
        let told = judge(amps("100"), mm(size), Setting::Dcen, Group::Oxide);
        assert_eq!(told.verdict, Verdict::NotListed, "{size}");
        assert!(cup_guides(mm(size), None).is_empty(), "{size}");
        assert!(tip_rows(mm(size)).is_empty(), "{size}");
    }
}

#[test]
fn a_range_that_begins_at_nothing_holds_the_smallest_current() {
    let told = judge(amps("0.5"), mm("0.25"), Setting::Dcen, Group::Oxide);
    let up_to = told.tables.iter().find(|it| it.cell == Cell::UpTo(25));
    assert_eq!(up_to.map(|it| it.position), Some(Position::Inside));
}

#[test]
fn where_no_size_is_inside_all_the_greatest_share_is_favoured() {
    // 200 A DCEN: four of five tables have it inside for 2.4 mm, two for 3.2 mm.
    let all: Vec<Judgement> = Diameter::ALL
        .into_iter()
        .map(|size| judge(amps("200"), size, Setting::Dcen, Group::Oxide))
        .collect();
    let favoured: Vec<&str> = best(&all).iter().map(|told| told.diameter.mm()).collect();
    assert_eq!(favoured, ["2.4"]);
    let none = judge(amps("1500"), mm("2.4"), Setting::Dcen, Group::Oxide);
    assert!(best(&[none]).is_empty());
}

#[test]
fn the_metal_chooses_the_flow_where_the_table_tells_metals_apart() {
    let guides = cup_guides(mm("2.4"), Some(Metal::Stainless));
    assert_eq!(guides[0].flows.len(), 1);
    assert_eq!(guides[0].flows[0].metal, Some(Metal::Stainless));
    assert_eq!(guides[1].flows[0].metal, None);
    let steel = cup_guides(mm("2.4"), Some(Metal::Steel));
    assert!(steel[0].flows.is_empty() && !steel[1].flows.is_empty());
    assert_eq!(cup_guides(mm("2.4"), None)[0].flows.len(), 2);
}

proptest! {
    #[test]
    fn no_text_makes_a_current_panic(text in "\\PC{0,24}", tail in "[-0-9.A ]{0,12}") {
        for text in [&text, &tail] {
            if let Ok(current) = Current::parse(text) {
                prop_assert!(current.amps() > 0.0 && current.amps() <= 2000.0);
            }
        }
    }

    #[test]
    fn a_verdict_counts_the_tables_that_have_the_current_inside(
        tenths in 1_u32..20_000,
        size in prop::sample::select(Diameter::ALL.to_vec()),
        setting in prop::sample::select(Setting::ALL.to_vec()),
        group in prop::sample::select(Group::ALL.to_vec()),
    ) {
        let current = amps(&format!("{}.{}", tenths / 10, tenths % 10));
        let told = judge(current, size, setting, group);
        let inside = |it: &TableVerdict| it.position == Position::Inside;
        let (some, all) = (told.tables.iter().any(inside), told.tables.iter().all(inside));
        prop_assert_eq!(told.verdict == Verdict::NotListed, told.tables.is_empty());
        prop_assert_eq!(told.verdict == Verdict::InsideAll, all && some);
        prop_assert_eq!(told.verdict == Verdict::InsideSome, some && !all);
    }

    #[test]
    fn the_smallest_cup_is_wide_enough_and_the_next_smaller_is_not(
        size in prop::sample::select(Diameter::ALL.to_vec()),
    ) {
        let cup = minimum_cup(size).expect("a cup");
        let (over, under) = size.inches();
        // Sixteenths of an inch, both sides times `under`.
        let needed = 3 * 16 * over;
        prop_assert!(i64::from(cup.get()) * under >= needed);
        prop_assert!(cup.get() == 4 || (i64::from(cup.get()) - 1) * under < needed);
    }
}
