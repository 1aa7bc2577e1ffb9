//! Short ways to a valid resource. All names and figures are invented.

use types::{NewPart, NewTorch, StartingAssumption};

/// An electrode of class `WLa20` and the given diameter, such as `2.4 mm`.
pub fn electrode(code: &str, diameter: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "electrode".to_owned(),
        class: Some("WLa20".to_owned()),
        diameter: Some(diameter.to_owned()),
        ..NewPart::default()
    }
}

/// A collet of 2.4 mm for large bodies.
pub fn collet(code: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "collet".to_owned(),
        diameter: Some("2.4 mm".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

/// A gas lens of 2.4 mm for large bodies.
pub fn gas_lens(code: &str) -> NewPart {
    NewPart {
        code: code.to_owned(),
        kind: "gas-lens".to_owned(),
        diameter: Some("2.4 mm".to_owned()),
        family: Some("large".to_owned()),
        ..NewPart::default()
    }
}

/// The same part with a starting assumption: shape and rate, per `arc-hour`, `grind` or `week`.
pub fn assuming(mut part: NewPart, per: &str, shape: f64, rate: f64) -> NewPart {
    part.starting_assumptions.push(StartingAssumption {
        per: per.to_owned(),
        shape,
        rate,
    });
    part
}

/// A large-body torch.
pub fn torch(code: &str) -> NewTorch {
    NewTorch {
        code: code.to_owned(),
        name: None,
        family: "large".to_owned(),
        site: None,
        note: None,
    }
}
