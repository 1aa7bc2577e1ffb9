//! The seats that a shop starts with, read from the very list that the database is given, and parts to
//! try on them: what tests of fit stand on.

use std::collections::HashMap;

use proptest::prelude::*;

use super::{Fit, Piece, check};
use crate::class::ElectrodeClass;
use crate::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartSpec};
use crate::seat::{Offer, Pattern, Seat, Seats};
use crate::size::{CupNumber, Diameter, RodLength};

const USUAL: &str = include_str!("../../../migrations/src/seats/usual.csv");

/// The seats by kind, family and pattern.
pub(crate) struct Usual(HashMap<[String; 3], Seats>);

pub(crate) fn usual() -> Usual {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let takes = (!cells[4].is_empty()).then(|| Seat::parse(cells[4]).expect("a seat"));
        let offers = cells[5].split(';').filter(|offer| !offer.is_empty());
        let offers = offers.map(|offer| Offer::parse(offer).expect("an offer"));
        let room = cells[6]
            .parse()
            .ok()
            .map(|um| RodLength::from_um(um).expect("a length"));
        let seats = Seats::new(takes, offers.collect(), room).expect("seats");
        ([1, 2, 3].map(|cell| cells[cell].to_owned()), seats)
    };
    Usual(USUAL.lines().skip(1).map(row).collect())
}

impl Usual {
    pub(crate) fn head(&self, family: BodyFamily) -> &Seats {
        &self.0[&["torch", family.as_str(), ""].map(str::to_owned)]
    }

    pub(crate) fn seats(&self, spec: &PartSpec) -> Option<&Seats> {
        let pattern = Pattern::of(spec);
        let kind = pattern.kind.expect("a kind").as_str();
        let key = [
            kind,
            pattern.family.unwrap_or(""),
            pattern.within.unwrap_or(""),
        ];
        self.0.get(&key.map(str::to_owned))
    }

    pub(crate) fn pieces<'a>(&'a self, specs: &'a [PartSpec]) -> Vec<Piece<'a>> {
        let piece = |spec: &'a PartSpec| Piece {
            spec,
            seats: self.seats(spec),
        };
        specs.iter().map(piece).collect()
    }

    pub(crate) fn check(&self, family: BodyFamily, specs: &[PartSpec]) -> Fit {
        check(self.head(family), &self.pieces(specs))
    }
}

pub(crate) fn mm(text: &str) -> Diameter {
    Diameter::parse(text).expect("a named diameter")
}

pub(crate) fn electrode(diameter: &str, length: Option<&str>) -> PartSpec {
    PartSpec::Electrode {
        class: ElectrodeClass::WLa20,
        diameter: mm(diameter),
        length: length.map(|text| RodLength::parse(text).expect("a length")),
    }
}

pub(crate) fn collet(diameter: &str, length: ColletLength, family: BodyFamily) -> PartSpec {
    PartSpec::Collet {
        diameter: mm(diameter),
        length,
        family,
    }
}

pub(crate) fn lens(diameter: &str, arrangement: Arrangement, family: BodyFamily) -> PartSpec {
    PartSpec::GasLens {
        diameter: mm(diameter),
        arrangement,
        family,
    }
}

pub(crate) fn body(diameter: &str, arrangement: Arrangement, family: BodyFamily) -> PartSpec {
    PartSpec::ColletBody {
        diameter: mm(diameter),
        arrangement,
        family,
    }
}

pub(crate) fn cup(number: i64, seat: CupSeat, family: BodyFamily) -> PartSpec {
    PartSpec::Cup {
        number: CupNumber::new(number).expect("a number"),
        seat,
        family,
    }
}

pub(crate) fn insulator(arrangement: Arrangement, family: BodyFamily) -> PartSpec {
    PartSpec::Insulator {
        arrangement,
        family,
    }
}

pub(crate) fn cap(length: CapLength, family: BodyFamily) -> PartSpec {
    PartSpec::BackCap { length, family }
}

pub(crate) const LARGE: BodyFamily = BodyFamily::Large;
pub(crate) const SMALL: BodyFamily = BodyFamily::Small;

/// The standard set-up of scenario S3.
pub(crate) fn standard() -> Vec<PartSpec> {
    vec![
        cap(CapLength::Long, LARGE),
        PartSpec::ORing { family: LARGE },
        electrode("2.4", Some("150 mm")),
        collet("2.4", ColletLength::Standard, LARGE),
        body("2.4", Arrangement::Standard, LARGE),
        insulator(Arrangement::Standard, LARGE),
        cup(7, CupSeat::Standard, LARGE),
    ]
}

/// Any part of a few patterns and diameters.
pub(crate) fn any_part() -> impl Strategy<Value = PartSpec> {
    let family = prop_oneof![3 => Just(LARGE), 1 => Just(SMALL)];
    let size = prop_oneof![3 => Just("2.4"), 1 => Just("1.6")];
    let pick = (0_u8..7, family, size, 0_usize..4, 0_usize..3);
    pick.prop_map(|(kind, family, size, pattern, third)| match kind {
        0 => cap(CapLength::ALL[third], family),
        1 => PartSpec::ORing { family },
        2 => electrode(size, [Some("150 mm"), Some("50 mm"), None][third]),
        3 => collet(size, ColletLength::ALL[pattern % 2], family),
        4 if family == LARGE && pattern == 3 => body(size, Arrangement::ShortNose, family),
        4 if pattern == 0 => body(size, Arrangement::Standard, family),
        4 => lens(size, Arrangement::ALL[1 + pattern % 2], family),
        5 => insulator(Arrangement::ALL[pattern % 3], family),
        _ => cup(
            7 + i64::try_from(third).unwrap(),
            CupSeat::ALL[third],
            family,
        ),
    })
}

/// The standard set-up with up to two parts changed for others: often whole, often nearly.
pub(crate) fn nearly_whole() -> impl Strategy<Value = Vec<PartSpec>> {
    prop::collection::vec((0_usize..7, any_part()), 0..3).prop_map(|changes| {
        let mut specs = standard();
        for (index, part) in changes {
            specs[index] = part;
        }
        specs
    })
}

/// A list of parts that may be a set-up.
pub(crate) fn any_list() -> impl Strategy<Value = Vec<PartSpec>> {
    let any = prop::collection::vec(any_part(), 0..9);
    prop_oneof![any, nearly_whole()]
}
