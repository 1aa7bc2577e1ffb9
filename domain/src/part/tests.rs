//! Names read back, words as they are spoken at the bench, and fields that do not belong together.

use super::*;

fn mm(text: &str) -> Diameter {
    Diameter::parse(text).expect("a named size")
}

#[test]
fn every_name_reads_back_in_any_case() {
    for kind in PartKind::ALL {
        assert_eq!(PartKind::parse(&kind.as_str().to_uppercase()), Ok(*kind));
    }
    for arrangement in Arrangement::ALL {
        assert_eq!(Arrangement::parse(arrangement.as_str()), Ok(*arrangement));
    }
    for seat in CupSeat::ALL {
        assert_eq!(CupSeat::parse(seat.as_str()), Ok(*seat));
    }
}

#[test]
fn an_unknown_name_lists_the_known_ones() {
    let said = CapLength::parse("button").unwrap_err().to_string();
    assert_eq!(
        said,
        "button is not a back cap length; known are short, medium, long"
    );
}

#[test]
fn parts_are_described_as_they_are_spoken_of() {
    let family = BodyFamily::Large;
    let said = [
        (
            PartSpec::Electrode {
                class: ElectrodeClass::WLa20,
                diameter: mm("2.4"),
                length: None,
            },
            "Electrode WLa20 2.4 mm",
        ),
        (
            PartSpec::Collet {
                diameter: mm("2.4"),
                length: ColletLength::Standard,
                family,
            },
            "Collet 2.4 mm, large body",
        ),
        (
            PartSpec::Cup {
                number: CupNumber::new(7).expect("a cup number"),
                seat: CupSeat::GasLens,
                family,
            },
            "Cup no. 7, gas-lens seat",
        ),
        (PartSpec::ORing { family }, "O-ring, back cap, large body"),
        (
            PartSpec::Insulator {
                arrangement: Arrangement::GasLens,
                family,
            },
            "Insulator for gas lens, large body",
        ),
    ];
    for (spec, words) in said {
        assert_eq!(spec.describe(), words);
    }
}

#[test]
fn gas_and_filler_are_measured_and_all_else_is_counted() {
    let measured: Vec<_> = PartKind::ALL
        .iter()
        .filter(|kind| kind.unit() != Unit::Piece)
        .copied()
        .collect();
    assert_eq!(measured, [PartKind::ShieldingGas, PartKind::FillerRod]);
    assert!(PartKind::ORing.is_fitted());
    assert!(!PartKind::TungstenWheel.is_fitted());
}

#[test]
fn a_collet_body_is_never_of_a_lens_arrangement_nor_a_lens_of_the_standard_one() {
    let (diameter, family) = (mm("2.4"), BodyFamily::Large);
    let body = |arrangement| {
        PartSpec::ColletBody {
            diameter,
            arrangement,
            family,
        }
        .validated()
    };
    let lens = |arrangement| {
        PartSpec::GasLens {
            diameter,
            arrangement,
            family,
        }
        .validated()
    };
    assert!(body(Arrangement::Standard).is_ok() && body(Arrangement::ShortNose).is_ok());
    assert_eq!(
        body(Arrangement::GasLens),
        Err(PartSpecError::ColletBodyArrangement(Arrangement::GasLens))
    );
    assert!(lens(Arrangement::LargeGasLens).is_ok());
    assert_eq!(
        lens(Arrangement::Standard),
        Err(PartSpecError::GasLensArrangement(Arrangement::Standard))
    );
}

#[test]
fn a_gas_needs_a_printable_mixture() {
    for bad in ["", "  ", "Ar\n", &"x".repeat(65)] {
        let spec = PartSpec::ShieldingGas {
            mixture: bad.to_owned(),
        };
        assert_eq!(spec.validated(), Err(PartSpecError::Text("mixture")));
    }
    assert!(
        PartSpec::ShieldingGas {
            mixture: "I1".to_owned()
        }
        .validated()
        .is_ok()
    );
}
