//! Starting assumptions: what a wear rate stands on before a shop has data of its own. All figures
//! are invented test values, weak enough that a few weeks of logging outweigh them.

use crate::exposure::Driver;
use crate::part::PartKind;
use crate::wear::Gamma;

/// What a forecast that stands on these figures says of itself.
pub const LABEL: &str = "starting assumption";

/// The assumed wear rate of a kind of part under a driver; invented.
///
/// In pieces per arc hour, per grind, per week or per student-day; gas in millilitres, filler in
/// grams.
///
/// ```
/// use tigstock_domain::{assumption::starting_assumption, exposure::Driver, part::PartKind};
/// let assumed = starting_assumption(PartKind::Electrode, Driver::ArcTime);
/// assert!((assumed.mean() - 0.1).abs() < 1e-12); // one in ten arc hours
/// ```
pub fn starting_assumption(kind: PartKind, driver: Driver) -> Gamma {
    let (shape, rate) = match driver {
        Driver::ArcTime => per_arc_hour(kind),
        Driver::Grinds => per_grind(kind),
        Driver::Weeks => per_week(kind),
        Driver::StudentDays => per_student_day(kind),
    };
    Gamma::written(shape, rate)
}

fn per_arc_hour(kind: PartKind) -> (f64, f64) {
    match kind {
        PartKind::Electrode => (2.0, 20.0),
        PartKind::Collet | PartKind::ORing => (0.5, 50.0),
        PartKind::Cup => (1.0, 30.0),
        PartKind::ColletBody | PartKind::GasLens | PartKind::BackCap | PartKind::Insulator => {
            (0.5, 100.0)
        }
        // 500 L in an arc hour, a little over 8 L/min.
        PartKind::ShieldingGas => (4.0, 8e-6),
        // 300 g in an arc hour.
        PartKind::FillerRod => (3.0, 0.01),
        PartKind::TungstenWheel => (0.5, 500.0),
    }
}

fn per_grind(kind: PartKind) -> (f64, f64) {
    match kind {
        PartKind::Electrode => (2.0, 40.0),
        PartKind::Collet | PartKind::ORing => (0.5, 150.0),
        PartKind::Cup => (1.0, 90.0),
        PartKind::ColletBody | PartKind::GasLens | PartKind::BackCap | PartKind::Insulator => {
            (0.5, 300.0)
        }
        // A third of the figures per arc hour: about three grinds in one.
        PartKind::ShieldingGas => (4.0, 2.4e-5),
        PartKind::FillerRod => (3.0, 0.03),
        PartKind::TungstenWheel => (0.5, 1_500.0),
    }
}

fn per_week(kind: PartKind) -> (f64, f64) {
    match kind {
        PartKind::Electrode => (1.0, 4.0),
        PartKind::Collet | PartKind::ORing => (0.5, 10.0),
        PartKind::Cup => (0.5, 4.0),
        PartKind::ColletBody | PartKind::GasLens | PartKind::BackCap | PartKind::Insulator => {
            (0.5, 20.0)
        }
        // 2 000 L and 1 000 g in a week, a handful of arc hours.
        PartKind::ShieldingGas => (2.0, 1e-6),
        PartKind::FillerRod => (2.0, 0.002),
        PartKind::TungstenWheel => (0.5, 100.0),
    }
}

fn per_student_day(kind: PartKind) -> (f64, f64) {
    match kind {
        PartKind::Electrode => (2.0, 3.0),
        PartKind::Cup => (1.0, 3.0),
        PartKind::Collet
        | PartKind::ColletBody
        | PartKind::GasLens
        | PartKind::BackCap
        | PartKind::ORing
        | PartKind::Insulator => (0.5, 3.0),
        // 1 000 L and 300 g in a student-day, two arc hours.
        PartKind::ShieldingGas => (3.0, 3e-6),
        PartKind::FillerRod => (3.0, 0.01),
        PartKind::TungstenWheel => (0.5, 150.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_under_every_driver_has_a_rate_within_range() {
        for &kind in PartKind::ALL {
            for &driver in Driver::ALL {
                let assumed = starting_assumption(kind, driver);
                assert_eq!(
                    Gamma::new(assumed.shape(), assumed.rate()),
                    Ok(assumed),
                    "{kind:?}"
                );
            }
        }
    }
}
