//! Fit by the seats that a shop starts with: the scenarios, and what must hold of every set-up.

use proptest::prelude::*;

use super::usual::{
    LARGE, SMALL, any_list, any_part, body, cap, collet, cup, electrode, insulator, lens,
    nearly_whole, standard, usual,
};
use super::ways::{self, ways};
use super::*;
use crate::part::{Arrangement, CapLength, ColletLength, CupSeat};

#[test]
fn the_four_arrangements_are_whole_by_the_usual_seats() {
    let usual = usual();
    let whole = |family, front: [PartSpec; 4]| {
        let rear = [
            cap(CapLength::Long, family),
            PartSpec::ORing { family },
            electrode("2.4", None),
        ];
        let specs: Vec<PartSpec> = rear.into_iter().chain(front).collect();
        let fit = usual.check(family, &specs);
        assert_eq!(fit.faults, [], "{specs:?}");
        assert_eq!(fit.matings.len(), Joint::ALL.len());
    };
    let long = |family| collet("2.4", ColletLength::Standard, family);
    let short = |family| collet("2.4", ColletLength::Short, family);
    for family in [LARGE, SMALL] {
        whole(
            family,
            [
                long(family),
                body("2.4", Arrangement::Standard, family),
                insulator(Arrangement::Standard, family),
                cup(7, CupSeat::Standard, family),
            ],
        );
        whole(
            family,
            [
                short(family),
                lens("2.4", Arrangement::LargeGasLens, family),
                insulator(Arrangement::LargeGasLens, family),
                cup(12, CupSeat::LargeGasLens, family),
            ],
        );
    }
    let lens_of = |family| lens("2.4", Arrangement::GasLens, family);
    let cup_of = |family| cup(7, CupSeat::GasLens, family);
    whole(
        LARGE,
        [
            long(LARGE),
            lens_of(LARGE),
            insulator(Arrangement::GasLens, LARGE),
            cup_of(LARGE),
        ],
    );
    whole(
        SMALL,
        [
            long(SMALL),
            lens_of(SMALL),
            insulator(Arrangement::Standard, SMALL),
            cup_of(SMALL),
        ],
    );
    // A large-body torch takes small-body cups through a short-nose conversion.
    let nose = lens("2.4", Arrangement::ShortNose, LARGE);
    whole(
        LARGE,
        [
            short(LARGE),
            nose,
            insulator(Arrangement::ShortNose, LARGE),
            cup_of(SMALL),
        ],
    );
}

#[test]
fn a_missing_o_ring_is_one_vacant_seat_and_nothing_else() {
    let usual = usual();
    let mut specs = standard();
    specs.remove(1);
    let fit = usual.check(LARGE, &specs);
    assert_eq!(fit.state(), State::Incomplete);
    let [Fault::Vacant { on, offered }] = &fit.faults[..] else {
        panic!("{:?}", fit.faults);
    };
    assert_eq!(
        (*on, offered.seat.joint()),
        (Carrier::Part(0), Joint::ORing)
    );
}

#[test]
fn a_seven_of_the_wrong_series_names_both_seats() {
    let usual = usual();
    let mut specs = standard();
    specs[4] = lens("2.4", Arrangement::GasLens, LARGE);
    specs[5] = insulator(Arrangement::GasLens, LARGE);
    let fit = usual.check(LARGE, &specs);
    assert_eq!(fit.state(), State::DoesNotFit);
    let [
        Fault::Mismatch {
            part: 6,
            on,
            takes,
            offered,
        },
    ] = &fit.faults[..]
    else {
        panic!("{:?}", fit.faults);
    };
    assert_eq!(*on, Carrier::Part(4));
    assert_eq!(takes.seat.name(), "large standard");
    assert_eq!(offered.seat.name(), "large gas-lens");
}

#[test]
fn a_collet_of_another_length_or_diameter_and_a_rod_of_another_diameter_do_not_fit() {
    let usual = usual();
    let with = |index: usize, spec: PartSpec| {
        let mut specs = standard();
        specs[index] = spec;
        usual.check(LARGE, &specs)
    };
    let joint_of = |fit: &Fit| match &fit.faults[..] {
        [Fault::Mismatch { takes, .. }] => takes.seat.joint(),
        other => panic!("{other:?}"),
    };
    let short = with(3, collet("2.4", ColletLength::Short, LARGE));
    assert_eq!(joint_of(&short), Joint::Collet);
    let thick = with(2, electrode("2.5", None));
    assert_eq!(joint_of(&thick), Joint::Electrode);
    // The collet of another diameter sits wrongly on both sides.
    let thin = with(3, collet("1.6", ColletLength::Standard, LARGE));
    assert_eq!(thin.faults.len(), 2);
}

#[test]
fn a_back_cap_of_the_other_family_does_not_fit() {
    // Common practice: 3/8 in UNF against 5/16 in UNF.
    let usual = usual();
    let mut specs = standard();
    specs[0] = cap(CapLength::Long, SMALL);
    let fit = usual.check(LARGE, &specs);
    // Neither on the head, nor under the large O-ring.
    assert_eq!((fit.state(), fit.faults.len()), (State::DoesNotFit, 2));
}

#[test]
fn a_full_rod_does_not_go_under_the_short_cap() {
    let usual = usual();
    let mut specs = standard();
    specs[0] = cap(CapLength::Short, LARGE);
    for length in [Some("150 mm"), Some("51 mm"), None] {
        specs[2] = electrode("2.4", length);
        let fit = usual.check(LARGE, &specs);
        let [Fault::RodTooLong { longest, .. }] = &fit.faults[..] else {
            panic!("{:?}", fit.faults);
        };
        assert_eq!(longest.um(), 50_000);
    }
    specs[2] = electrode("2.4", Some("50 mm"));
    assert_eq!(usual.check(LARGE, &specs).state(), State::Complete);
}

#[test]
fn a_part_twice_and_a_part_that_is_not_fitted_are_told() {
    let usual = usual();
    let mut specs = standard();
    specs.push(cup(8, CupSeat::Standard, LARGE));
    specs.push(PartSpec::TungstenWheel);
    let fit = usual.check(LARGE, &specs);
    let crowded = Fault::Crowded {
        joint: Joint::Cup,
        parts: vec![6, 7],
    };
    assert!(fit.faults.contains(&crowded), "{:?}", fit.faults);
    assert!(fit.faults.contains(&Fault::NotFitted { part: 8 }));
}

#[test]
fn a_body_that_takes_several_diameters_is_not_bound_to_its_own() {
    let usual = usual();
    let specs = standard();
    let mut pieces = usual.pieces(&specs);
    let wide = Seats::new(
        Some(Seat::parse("front-end: large").unwrap()),
        [
            "collet: large standard, any diameter",
            "insulator: large standard",
            "cup: large standard",
        ]
        .map(|offer| Offer::parse(offer).unwrap())
        .into(),
        None,
    );
    let wide = wide.unwrap();
    pieces[4].seats = Some(&wide);
    let thin = [
        electrode("1.6", None),
        collet("1.6", ColletLength::Standard, LARGE),
    ];
    pieces[2].spec = &thin[0];
    pieces[3].spec = &thin[1];
    assert_eq!(check(usual.head(LARGE), &pieces).state(), State::Complete);
}

#[test]
fn the_ways_out_of_the_wrong_series_are_another_cup_or_another_front_end() {
    let usual = usual();
    let mut specs = standard();
    specs[4] = lens("2.4", Arrangement::GasLens, LARGE);
    specs[5] = insulator(Arrangement::GasLens, LARGE);
    // Indices 7 to 10 lie in the drawers.
    specs.push(cup(8, CupSeat::GasLens, LARGE));
    specs.push(body("2.4", Arrangement::Standard, LARGE));
    specs.push(insulator(Arrangement::Standard, LARGE));
    specs.push(lens("2.4", Arrangement::LargeGasLens, LARGE));
    let pieces = usual.pieces(&specs);
    let ways = ways(usual.head(LARGE), &pieces, &[0, 1, 2, 3, 4, 5, 6]);
    let told: Vec<(Vec<usize>, Vec<Vec<usize>>)> = ways
        .iter()
        .map(|way| {
            let choices = way.choices.iter().map(|choice| choice.alternatives.clone());
            (way.remove.clone(), choices.collect())
        })
        .collect();
    assert_eq!(told[0], (vec![6], vec![vec![7]]));
    let mut back = told[1].clone();
    back.0.sort_unstable();
    assert_eq!(back, (vec![4, 5], vec![vec![8], vec![9]]));
    // The large lens would need another cup as well.
    assert_eq!(told.len(), 2, "{told:?}");
}

#[test]
fn a_way_that_wants_an_unknown_part_takes_none_away_that_parts_make() {
    let usual = usual();
    // Two of each are fitted and the rest lies in the drawers, with a lens that wants another collet.
    let rod = || electrode("2.4", Some("150 mm"));
    let collet = || collet("2.4", ColletLength::Standard, LARGE);
    let body = || body("2.4", Arrangement::Standard, LARGE);
    let specs = [
        rod(),
        collet(),
        rod(),
        body(),
        body(),
        collet(),
        cup(7, CupSeat::Standard, LARGE),
        cap(CapLength::Medium, LARGE),
        PartSpec::ORing { family: LARGE },
        insulator(Arrangement::Standard, LARGE),
        lens("2.4", Arrangement::LargeGasLens, LARGE),
    ];
    let found = ways(
        usual.head(LARGE),
        &usual.pieces(&specs),
        &[0, 1, 2, 3, 4, 5],
    );
    assert!(found.iter().any(ways::Way::is_possible), "{found:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn what_is_called_complete_has_every_seat_mated_exactly_once(
        specs in nearly_whole(),
    ) {
        let usual = usual();
        let pieces = usual.pieces(&specs);
        let fit = check(usual.head(LARGE), &pieces);
        if fit.state() == State::Complete {
            // Each joint once, each part once, and each on what truly offers that seat.
            let mut joints: Vec<Joint> = fit.matings.iter().map(|mating| mating.joint).collect();
            joints.sort_unstable();
            prop_assert_eq!(&joints[..], Joint::ALL);
            let mut parts: Vec<usize> = fit.matings.iter().map(|mating| mating.part).collect();
            parts.sort_unstable();
            prop_assert_eq!(parts, (0..specs.len()).collect::<Vec<_>>());
            for mating in &fit.matings {
                let takes = pieces[mating.part].seats.unwrap().takes().unwrap();
                let carrier = match mating.on {
                    Carrier::Torch => usual.head(LARGE),
                    Carrier::Part(part) => pieces[part].seats.unwrap(),
                };
                prop_assert!(carrier.offers().iter().any(|offer| offer.seat == *takes));
            }
        }
    }

    #[test]
    fn every_way_leads_to_a_complete_set_up_whichever_part_is_chosen(
        fitted in any_list(),
        others in prop::collection::vec(any_part(), 0..14),
        pick in any::<prop::sample::Index>(),
    ) {
        let usual = usual();
        let count = fitted.len();
        let specs: Vec<PartSpec> = fitted.into_iter().chain(others).collect();
        let pieces = usual.pieces(&specs);
        let fitted: Vec<usize> = (0..count).collect();
        let head = usual.head(LARGE);
        for way in ways(head, &pieces, &fitted) {
            for part in &fitted {
                let kept = way.keep.contains(part);
                prop_assert!(!(kept && way.remove.contains(part)));
                prop_assert!(!way.is_possible() || kept || way.remove.contains(part));
            }
            if !way.is_possible() {
                continue;
            }
            let chosen = way.choices.iter().map(|choice| *pick.get(&choice.alternatives));
            let parts: Vec<usize> = way.keep.iter().copied().chain(chosen).collect();
            let whole: Vec<Piece<'_>> = parts.iter().map(|part| pieces[*part]).collect();
            let fit = check(head, &whole);
            prop_assert_eq!(fit.state(), State::Complete, "{:?} {:?}", way, fit.faults);
        }
    }

    #[test]
    fn one_more_part_in_the_drawers_never_takes_a_way_away(
        fitted in any_list(),
        others in prop::collection::vec(any_part(), 0..10),
        more in any_part(),
    ) {
        let usual = usual();
        let count = fitted.len();
        let mut specs: Vec<PartSpec> = fitted.into_iter().chain(others).collect();
        let fitted: Vec<usize> = (0..count).collect();
        let head = usual.head(LARGE);
        let possible = |specs: &[PartSpec]| {
            let found = ways(head, &usual.pieces(specs), &fitted);
            found.iter().any(ways::Way::is_possible)
        };
        let before = possible(&specs);
        specs.push(more);
        prop_assert!(!before || possible(&specs));
    }

    #[test]
    fn a_whole_set_up_needs_no_way(specs in any_list()) {
        let usual = usual();
        let fitted: Vec<usize> = (0..specs.len()).collect();
        let pieces = usual.pieces(&specs);
        let head = usual.head(LARGE);
        let whole = check(head, &pieces).state() == State::Complete;
        let found = ways(head, &pieces, &fitted);
        let nothing = found.iter().any(|way| way.remove.is_empty() && way.choices.is_empty());
        prop_assert_eq!(whole, nothing, "{:?}", found);
    }
}
