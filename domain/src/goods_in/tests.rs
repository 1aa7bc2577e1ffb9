//! Pairs of parts that are mixed up on a bench, and what is said of them. Which fields make a part is
//! in `part`; what must be said is in scenarios S1 and S4.

use super::*;
use crate::class::ElectrodeClass;
use crate::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat};
use crate::size::{CupNumber, Diameter, RodLength};

fn mm(text: &str) -> Diameter {
    Diameter::parse(text).expect("a named diameter")
}

fn electrode(class: &str, diameter: &str, length_mm: Option<i64>) -> PartSpec {
    let length = length_mm.map(|mm| RodLength::from_um(mm * 1_000).expect("a length"));
    PartSpec::Electrode {
        class: ElectrodeClass::parse(class).expect("a class"),
        diameter: mm(diameter),
        length,
    }
}

fn collet(diameter: &str, length: ColletLength, family: BodyFamily) -> PartSpec {
    PartSpec::Collet {
        diameter: mm(diameter),
        length,
        family,
    }
}

fn collet_body(diameter: &str) -> PartSpec {
    PartSpec::ColletBody {
        diameter: mm(diameter),
        arrangement: Arrangement::Standard,
        family: BodyFamily::Large,
    }
}

fn cup(number: i64, seat: CupSeat) -> PartSpec {
    PartSpec::Cup {
        number: CupNumber::new(number).expect("a number"),
        seat,
        family: BodyFamily::Large,
    }
}

fn size(words: &str) -> Mismatch {
    Mismatch::Size(words.to_owned())
}

fn part(words: &str) -> Mismatch {
    Mismatch::Part(words.to_owned())
}

#[test]
fn an_electrode_of_another_diameter_is_the_wrong_size_and_needs_its_own_collet() {
    let ordered = electrode("WLa20", "2.4 mm", None);
    let came = electrode("WLa20", "2.5 mm", None);
    let told = "2.5 is not 2.4, and it needs its own collet";
    assert_eq!(mismatch(&ordered, &came), Some(size(told)));
    // Two names of one size are one size.
    assert_eq!(
        mismatch(&ordered, &electrode("WLa20", "3/32 in", None)),
        None
    );
}

#[test]
fn an_electrode_of_another_length_is_the_wrong_size() {
    let ordered = electrode("WLa20", "2.4 mm", Some(175));
    let came = electrode("WLa20", "2.4 mm", Some(150));
    let told = mismatch(&ordered, &came);
    assert_eq!(told, Some(size("150 mm long is not 175 mm long")));
}

#[test]
fn an_electrode_of_another_class_is_the_wrong_part_whatever_its_size() {
    let ordered = electrode("WLa20", "2.4 mm", None);
    let told = mismatch(&ordered, &electrode("WCe20", "2.4 mm", None));
    assert_eq!(told, Some(part("WCe20 is not WLa20")));
    let told = mismatch(&ordered, &electrode("WTh20", "1.6 mm", None));
    assert!(matches!(told, Some(Mismatch::Part(told)) if told.contains("1.6 is not 2.4")));
}

#[test]
fn collet_bodies_are_no_collets() {
    let ordered = collet("2.4 mm", ColletLength::Standard, BodyFamily::Large);
    let told = mismatch(&ordered, &collet_body("2.4 mm"));
    assert_eq!(told, Some(part("collet body is not collet")));
}

#[test]
fn a_short_collet_is_the_wrong_size_and_one_of_the_other_family_the_wrong_part() {
    let ordered = collet("2.4 mm", ColletLength::Standard, BodyFamily::Large);
    let short = collet("2.4 mm", ColletLength::Short, BodyFamily::Large);
    assert_eq!(
        mismatch(&ordered, &short),
        Some(size("short length is not standard length"))
    );
    let small = collet("2.4 mm", ColletLength::Standard, BodyFamily::Small);
    assert_eq!(
        mismatch(&ordered, &small),
        Some(part("small body is not large body"))
    );
}

#[test]
fn a_cup_of_the_same_number_on_another_seat_is_the_wrong_part() {
    let ordered = cup(7, CupSeat::GasLens);
    let told = mismatch(&ordered, &cup(7, CupSeat::Standard));
    assert_eq!(
        told,
        Some(part(
            "standard seat is not gas-lens seat: another thread and bore"
        ))
    );
    let told = mismatch(&ordered, &cup(8, CupSeat::GasLens));
    assert_eq!(told, Some(size("no. 8 is not no. 7")));
}

#[test]
fn a_short_back_cap_is_the_wrong_size() {
    let cap = |length| PartSpec::BackCap {
        length,
        family: BodyFamily::Large,
    };
    let told = mismatch(&cap(CapLength::Long), &cap(CapLength::Short));
    assert!(matches!(told, Some(Mismatch::Size(told)) if told.starts_with("short is not long")));
}
