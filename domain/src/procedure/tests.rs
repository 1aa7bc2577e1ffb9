//! The verdict on single parts, and what holds for every requirement and every set of signatures.

use proptest::prelude::*;

use super::*;
use crate::class::ElectrodeClass;
use crate::part::PartSpec;
use crate::size::{CupNumber, Diameter, RodLength};

fn electrode(class: ElectrodeClass, diameter: &str) -> PartSpec {
    PartSpec::Electrode {
        class,
        diameter: Diameter::parse(diameter).expect("a named diameter"),
        length: None,
    }
}

/// A requirement as it is written: classes and diameters in their own spelling.
fn requires(classes: &[&str], diameters: &[&str]) -> Requirement {
    let classes = classes
        .iter()
        .map(|class| Written::<ElectrodeClass>::parse(class).expect("a class"));
    let diameters = diameters
        .iter()
        .map(|size| Written::<Diameter>::parse(size).expect("a size"));
    Requirement {
        classes: Some(classes.collect()),
        diameters: Some(diameters.collect()),
        ..Requirement::default()
    }
}

fn equivalence(id: &str, marking: &str, class: ElectrodeClass, diameter: &str) -> Equivalence {
    Equivalence {
        id: id.to_owned(),
        marking: Marking::read(marking),
        thing: NamedThing {
            class,
            diameter: Diameter::parse(diameter).expect("a named diameter"),
            grade: None,
        },
    }
}

fn marked<'a>(spec: &'a PartSpec, marking: &'a str) -> Candidate<'a> {
    Candidate {
        spec,
        marking: Some(marking).filter(|marking| !marking.is_empty()),
        grade: None,
        piece: Piece::Whole,
    }
}

/// PROC-07 rev 2 of scenario S1.
fn locked() -> Requirement {
    requires(&["WLa20"], &["2.4 mm"])
}

const WLA20: ElectrodeClass = ElectrodeClass::WLa20;

#[test]
fn an_inch_marking_needs_a_signature_and_matches_once_it_has_one() {
    let rod = electrode(WLA20, "3/32 in");
    let candidate = marked(&rod, "3/32 in EWLa-2");
    let verdict = locked().verdict(&candidate, &[]).clone();
    assert_eq!(verdict.state, State::NeedsSignOff);
    let (marking, thing) = verdict.to_sign.expect("what to sign");
    assert_eq!(
        (&*marking, &*thing.describe()),
        ("3/32 in EWLa-2", "2.4 mm WLa20")
    );
    let signed = [equivalence("EQ-1", "3/32\" EWLa-2", WLA20, "2.4 mm")];
    let requirement = locked();
    let verdict = requirement.verdict(&candidate, &signed);
    assert_eq!(verdict.state, State::Matches);
    assert_eq!(verdict.equivalence.expect("the signature").id, "EQ-1");
}

#[test]
fn a_metric_marking_or_none_matches_without_a_signature() {
    let rod = electrode(WLA20, "2.4 mm");
    for marking in [
        "",
        "2.4 mm WLa20",
        "WL20 2.38",
        "2.3mm WLa20 blue",
        "WLa20 2.4x175 mm",
    ] {
        let verdict = locked().verdict(&marked(&rod, marking), &[]).state;
        assert_eq!(verdict, State::Matches, "{marking}");
    }
}

#[test]
fn either_half_of_the_other_system_is_enough_to_ask() {
    let rod = electrode(WLA20, "2.4 mm");
    for marking in [
        "2.4 mm EWLa-2",
        "3/32 in WLa20",
        "EWLa-2",
        "3/32",
        ".093 in",
    ] {
        let verdict = locked().verdict(&marked(&rod, marking), &[]).state;
        assert_eq!(verdict, State::NeedsSignOff, "{marking}");
    }
    // Both systems printed: one of them is the procedure's.
    let both = marked(&rod, "2.4 mm WLa20 (3/32 in EWLa-2)");
    assert_eq!(locked().verdict(&both, &[]).state, State::Matches);
}

#[test]
fn a_procedure_written_in_inches_asks_for_a_signature_for_millimetres() {
    let written = requires(&["EWLa-2"], &["3/32 in"]);
    let rod = electrode(WLA20, "2.4 mm");
    let state = |marking| written.verdict(&marked(&rod, marking), &[]).state;
    assert_eq!(state("3/32 in EWLa-2"), State::Matches);
    assert_eq!(state("2.4 mm WLa20"), State::NeedsSignOff);
    assert_eq!(state(""), State::NeedsSignOff);
}

#[test]
fn where_substitution_is_allowed_the_named_size_and_class_are_enough() {
    let permits = Requirement {
        substitution: true,
        ..locked()
    };
    let rod = electrode(WLA20, "2.4 mm");
    let state = permits.verdict(&marked(&rod, "3/32 in EWLa-2"), &[]).state;
    assert_eq!(state, State::Matches);
}

#[test]
fn near_sizes_are_different_sizes() {
    for (is, fixed) in [
        ("2.5 mm", "2.4 mm"),
        ("1.5 mm", "1.6 mm"),
        ("3.0 mm", "3.2 mm"),
    ] {
        let rod = electrode(WLA20, is);
        let verdict = requires(&["WLa20"], &[fixed]);
        let verdict = verdict.verdict(&marked(&rod, ""), &[]);
        assert_eq!(verdict.state, State::DoesNotMatch);
        let (is, fixed) = (&is[..3], &fixed[..3]);
        assert_eq!(
            verdict.because(),
            format!("different size: {is} is not {fixed}, and it needs its own collet")
        );
    }
}

#[test]
fn each_dimension_that_is_wrong_is_named() {
    let rod = electrode(ElectrodeClass::WCe20, "2.5 mm");
    let requirement = locked();
    assert_eq!(
        requirement.verdict(&marked(&rod, ""), &[]).because(),
        "class not on the procedure; different size: 2.5 is not 2.4, and it needs its own collet"
    );
    let fixed = Requirement {
        length: RodLength::parse("150 mm").ok(),
        ..locked()
    };
    let rod = electrode(WLA20, "2.4 mm");
    assert_eq!(
        fixed.verdict(&marked(&rod, ""), &[]).because(),
        "length not told; the procedure fixes 150 mm"
    );
}

#[test]
fn a_marking_that_contradicts_what_the_part_was_set_up_as_never_matches() {
    let rod = electrode(WLA20, "2.4 mm");
    let read = [
        ("2.5 mm WLa20", "2.5 mm"),
        ("2.45 mm WLa20", "2.45 mm"),
        ("EWCe-2 2.4", "WCe20"),
    ];
    for (marking, read) in read {
        let signed = [equivalence("EQ-1", marking, WLA20, "2.4 mm")];
        let requirement = locked();
        let verdict = requirement.verdict(&marked(&rod, marking), &signed);
        assert_eq!(verdict.state, State::DoesNotMatch, "{marking}");
        assert!(verdict.because().contains(read), "{}", verdict.because());
    }
}

#[test]
fn counts_dates_and_purities_in_a_marking_are_no_sizes() {
    let rod = electrode(WLA20, "2.4 mm");
    for marking in [
        "WLa20 10 pcs",
        "WLa20 2.4 lot 12/26",
        "WLa20 99.5 % W 2.4 mm",
        "WLa20, 7 in",
    ] {
        let state = locked().verdict(&marked(&rod, marking), &[]).state;
        assert_eq!(state, State::Matches, "{marking}");
    }
}

#[test]
fn the_general_class_matches_only_by_its_own_grade_and_a_signature() {
    let rod = electrode(ElectrodeClass::Wg, "2.4 mm");
    let with = |grade| Candidate {
        grade,
        ..marked(&rod, "2.4 mm WG tri 9")
    };
    let state = |requirement: &Requirement, grade, signed: &[Equivalence]| {
        requirement.verdict(&with(grade), signed).state
    };
    let grade = Some("tri 9, 1.5 % La2O3");
    for named in [locked(), requires(&["WLa15", "WCe20"], &["2.4 mm"])] {
        assert_eq!(state(&named, grade, &[]), State::DoesNotMatch);
    }
    for substitution in [false, true] {
        let permits = Requirement {
            grades: Some(vec!["Tri 9, 1.5 % La2O3".to_owned()]),
            substitution,
            ..locked()
        };
        assert_eq!(state(&permits, None, &[]), State::DoesNotMatch);
        assert_eq!(state(&permits, Some("tri 7"), &[]), State::DoesNotMatch);
        assert_eq!(state(&permits, grade, &[]), State::NeedsSignOff);
        let mut signed = equivalence("EQ-2", "2.4 mm WG tri 9", ElectrodeClass::Wg, "2.4 mm");
        signed.thing.grade = grade.map(str::to_owned);
        assert_eq!(state(&permits, grade, &[signed.clone()]), State::Matches);
        // Nor does a signature for another packet of the general class.
        signed.marking = Marking::read("2.4 mm WG tri 7");
        assert_eq!(state(&permits, grade, &[signed]), State::NeedsSignOff);
    }
}

#[test]
fn a_stub_is_accepted_only_if_class_and_lot_are_known() {
    let rod = electrode(WLA20, "2.4 mm");
    let unknown = electrode(ElectrodeClass::Unidentified, "2.4 mm");
    let state = |spec, lot_known, substitution| {
        let requirement = Requirement {
            substitution,
            ..locked()
        };
        let piece = Piece::Stub { lot_known };
        let candidate = Candidate {
            piece,
            ..marked(spec, "")
        };
        requirement.verdict(&candidate, &[]).state
    };
    assert_eq!(state(&rod, true, false), State::Matches);
    assert_eq!(state(&rod, false, false), State::DoesNotMatch);
    assert_eq!(state(&unknown, true, false), State::DoesNotMatch);
    assert_eq!(state(&rod, false, true), State::Matches);
    assert_eq!(state(&unknown, true, true), State::DoesNotMatch);
}

#[test]
fn cups_lenses_gas_and_filler_are_held_against_what_is_fixed() {
    use crate::part::{Arrangement, BodyFamily, CupSeat};
    let fixed = Requirement {
        cups: Some(vec![
            CupNumber::parse("11 mm").expect("no. 7 by a named alias"),
        ]),
        arrangements: Some(vec![Arrangement::GasLens]),
        gases: Some(vec!["ISO 14175 - I1".to_owned()]),
        fillers: Some(vec!["W 19 9 L".to_owned()]),
        ..Requirement::default()
    };
    let because = |spec: PartSpec| fixed.verdict(&marked(&spec, ""), &[]).because();
    let cup = |number: i64, seat| PartSpec::Cup {
        number: CupNumber::new(number).expect("a cup"),
        seat,
        family: BodyFamily::Large,
    };
    assert_eq!(because(cup(7, CupSeat::GasLens)), "");
    assert_eq!(because(cup(8, CupSeat::GasLens)), "cup no. 8 is not no. 7");
    assert_eq!(
        because(cup(7, CupSeat::Standard)),
        "standard arrangement is not gas-lens"
    );
    let body = PartSpec::ColletBody {
        diameter: Diameter::parse("2.4").expect("a size"),
        arrangement: Arrangement::Standard,
        family: BodyFamily::Large,
    };
    assert_eq!(because(body), "standard arrangement is not gas-lens");
    let gas = |mixture: &str| PartSpec::ShieldingGas {
        mixture: mixture.to_owned(),
    };
    assert_eq!(because(gas("iso 14175 - i1")), "");
    assert_eq!(because(gas("ISO 14175 - I3")), "gas not on the procedure");
    assert!(!fixed.concerns(&PartSpec::TungstenWheel));
    assert_eq!(because(PartSpec::TungstenWheel), "");
}

#[test]
fn a_procedure_that_permits_nothing_is_refused_with_the_field() {
    let nothing = Requirement {
        tip_angle: TipAngle::new(30).ok(),
        ..Requirement::default()
    };
    assert_eq!(nothing.validated(), Err(RequirementError::Nothing));
    let empty = Requirement {
        cups: Some(Vec::new()),
        ..locked()
    };
    let error = empty.validated().expect_err("it permits nothing");
    assert_eq!(error.field(), Some("cups"));
    let general = requires(&["WG"], &["2.4"]).validated();
    assert_eq!(general, Err(RequirementError::General));
    let unknown = requires(&["unidentified"], &["2.4"]).validated();
    assert_eq!(unknown, Err(RequirementError::Unidentified));
    assert!(locked().validated().is_ok());
}

#[test]
fn an_equivalence_never_widens_a_procedure() {
    let sign = |marking: &str, class, diameter: &str| {
        let signed = equivalence("EQ-1", marking, class, diameter).checked(&locked());
        signed.map_err(|error| (error.field(), error.to_string()))
    };
    assert!(sign("3/32 in EWLa-2", WLA20, "2.4 mm").is_ok());
    let (field, why) = sign("2.5 mm WLa20", WLA20, "2.5 mm").expect_err("not permitted");
    assert!(field == "class" && why.contains("2.5 is not 2.4"), "{why}");
    let (field, why) = sign("EWCe-2", ElectrodeClass::WCe20, "2.4 mm").expect_err("not permitted");
    assert!(
        field == "class" && why.contains("not on the procedure"),
        "{why}"
    );
    let (field, why) = sign("2.5 mm WLa20", WLA20, "2.4 mm").expect_err("not the same");
    assert!(field == "marking" && why.contains("2.5 mm"), "{why}");
    let (field, _) = sign("blue band", WLA20, "2.4 mm").expect_err("nothing to read");
    assert_eq!(field, "marking");
}

/// Any class but the one that every test asks for, or any at all.
fn class() -> impl Strategy<Value = ElectrodeClass> {
    prop::sample::select(ElectrodeClass::ALL.to_vec())
}

fn diameter() -> impl Strategy<Value = Diameter> {
    prop::sample::select(Diameter::ALL.to_vec())
}

fn system() -> impl Strategy<Value = System> {
    prop::sample::select(vec![System::Metric, System::Inch])
}

fn requirement() -> impl Strategy<Value = Requirement> {
    let written = (class(), system()).prop_map(|(value, system)| Written { value, system });
    let size = (diameter(), system()).prop_map(|(value, system)| Written { value, system });
    let classes = prop::option::of(prop::collection::vec(written, 1..4));
    let diameters = prop::option::of(prop::collection::vec(size, 1..4));
    let grades = prop::option::of(Just(vec!["tri 9".to_owned()]));
    (classes, diameters, grades, any::<bool>()).prop_map(
        |(classes, diameters, grades, substitution)| Requirement {
            classes,
            grades,
            diameters,
            substitution,
            ..Requirement::default()
        },
    )
}

const MARKINGS: [&str; 6] = [
    "3/32 in EWLa-2",
    "2.4 mm WLa20",
    "EWLa-2",
    "1/16 in EWCe-2",
    "2.4 mm WG tri 9",
    "loose",
];
const GRADES: [Option<&str>; 3] = [None, Some("tri 9"), Some("tri 7")];

fn signature() -> impl Strategy<Value = Equivalence> {
    let marking = prop::sample::select(MARKINGS.to_vec());
    let grade = prop::sample::select(GRADES.to_vec());
    (1_u8..9, marking, class(), diameter(), grade).prop_map(
        |(id, marking, class, diameter, grade)| Equivalence {
            id: format!("EQ-{id}"),
            marking: Marking::read(marking),
            thing: NamedThing {
                class,
                diameter,
                grade: grade.map(str::to_owned),
            },
        },
    )
}

/// A part with its marking and grade, so that many of them are what many requirements ask for.
type Part = (PartSpec, Option<&'static str>, Option<&'static str>);

fn part() -> impl Strategy<Value = Part> {
    let class = prop_oneof![class(), Just(WLA20), Just(ElectrodeClass::Wg)];
    let diameter = prop_oneof![diameter(), Just(Diameter::parse("2.4").expect("a size"))];
    let marking = prop::option::of(prop::sample::select(MARKINGS.to_vec()));
    let grade = prop::sample::select(GRADES.to_vec());
    (class, diameter, marking, grade).prop_map(|(class, diameter, marking, grade)| {
        let length = None;
        let spec = PartSpec::Electrode {
            class,
            diameter,
            length,
        };
        (spec, marking, grade)
    })
}

fn of((spec, marking, grade): &Part) -> Candidate<'_> {
    Candidate {
        spec,
        marking: *marking,
        grade: *grade,
        piece: Piece::Whole,
    }
}

fn rank(state: State) -> u8 {
    match state {
        State::DoesNotMatch => 0,
        State::NeedsSignOff => 1,
        State::Matches => 2,
    }
}

proptest! {
    #[test]
    fn nothing_outside_the_lists_ever_matches_whatever_is_signed(
        requirement in requirement(), part in part(),
        signed in prop::collection::vec(signature(), 0..6),
    ) {
        let PartSpec::Electrode { class, diameter, .. } = &part.0 else { unreachable!() };
        let state = requirement.verdict(&of(&part), &signed).state;
        let sized = requirement.diameters.as_ref();
        let sized = sized.is_none_or(|list| list.iter().any(|it| it.value == *diameter));
        let named = requirement.classes.iter().flatten().any(|it| it.value == *class);
        let by_grade = requirement.grades.is_some() && part.2 == Some("tri 9");
        let free = requirement.classes.is_none() && requirement.grades.is_none();
        let general = *class == ElectrodeClass::Wg;
        let known = *class != ElectrodeClass::Unidentified;
        let classed = known && if general { by_grade } else { named || free };
        if state != State::DoesNotMatch {
            prop_assert!(sized && classed, "{requirement:?} {part:?}");
        }
        if *class == ElectrodeClass::Unidentified {
            prop_assert_eq!(state, State::DoesNotMatch);
        }
        if *class == ElectrodeClass::Wg && state == State::Matches {
            let own = |it: &Equivalence| it.thing.grade.as_deref() == part.2;
            prop_assert!(signed.iter().any(own));
        }
    }

    #[test]
    fn one_more_signature_makes_nothing_worse(
        requirement in requirement(), parts in prop::collection::vec(part(), 1..6),
        signed in prop::collection::vec(signature(), 0..5), one_more in signature(),
    ) {
        let mut more = signed.clone();
        more.push(one_more);
        for part in &parts {
            let before = requirement.verdict(&of(part), &signed).state;
            let after = requirement.verdict(&of(part), &more).state;
            prop_assert!(rank(after) >= rank(before));
        }
    }

    #[test]
    fn the_order_of_lists_and_signatures_does_not_matter(
        requirement in requirement(), part in part(),
        signed in prop::collection::vec(signature(), 0..6),
    ) {
        let mut turned = requirement.clone();
        turned.classes.iter_mut().for_each(|list| list.reverse());
        turned.diameters.iter_mut().for_each(|list| list.reverse());
        let mut backwards = signed.clone();
        backwards.reverse();
        let one = requirement.verdict(&of(&part), &signed);
        let other = turned.verdict(&of(&part), &backwards);
        prop_assert_eq!(one.state, other.state);
        prop_assert_eq!(one.because(), other.because());
        let id = |verdict: &Verdict<'_>| verdict.equivalence.map(|it| it.id.clone());
        prop_assert_eq!(id(&one), id(&other));
    }

    #[test]
    fn what_asks_for_a_signature_matches_once_it_has_just_that_one(
        requirement in requirement(), part in part(),
    ) {
        let verdict = requirement.verdict(&of(&part), &[]);
        let Some((marking, thing)) = verdict.to_sign else { return Ok(()) };
        let signed = [Equivalence { id: "EQ-1".to_owned(), marking: Marking::read(&marking), thing }];
        prop_assert_eq!(requirement.verdict(&of(&part), &signed).state, State::Matches);
    }

    #[test]
    fn any_text_can_be_a_marking(text in any::<String>()) {
        let read = Marking::read(&text);
        prop_assert!(read.is(&Marking::read(&text)));
        let named = read.sizes().iter().all(|size| Diameter::ALL.contains(&size.value));
        prop_assert!(named);
    }
}
