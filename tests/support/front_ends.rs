//! The parts of the front ends of scenarios S3 and S4, by invented codes, and a shop that has them.

use types::NewPart;

use crate::TestServer;
use crate::builders::{collet, electrode, gas_lens};

/// The set-up of the standard arrangement, rear to tip.
pub const STANDARD: [&str; 7] = [
    "cap-long",
    "o-ring-large",
    "WLa20-2.4",
    "collet-2.4",
    "body-2.4",
    "insulator-std",
    "cup-7",
];

/// The set-up with a gas lens.
pub const LENS: [&str; 7] = [
    "cap-long",
    "o-ring-large",
    "WLa20-2.4",
    "collet-2.4",
    "lens-2.4",
    "insulator-lens",
    "cup-7-lens",
];

/// A part of a large-body front end, by its code.
///
/// # Panics
/// If no part of these front ends has that code.
pub fn front_end(code: &str) -> NewPart {
    let large = |kind: &str| NewPart {
        code: code.to_owned(),
        kind: kind.to_owned(),
        family: Some("large".to_owned()),
        ..NewPart::default()
    };
    let cup = |number: i64, seat: &str| NewPart {
        cup_number: Some(number),
        seat: Some(seat.to_owned()),
        ..large("cup")
    };
    let insulator = |arrangement: &str| NewPart {
        arrangement: Some(arrangement.to_owned()),
        ..large("insulator")
    };
    let cap = |length: &str| NewPart {
        length: Some(length.to_owned()),
        ..large("back-cap")
    };
    match code {
        "WLa20-2.4" => NewPart {
            length: Some("150 mm".to_owned()),
            ..electrode(code, "2.4 mm")
        },
        "cap-long" => cap("long"),
        "cap-short" => cap("short"),
        "o-ring-large" => large("o-ring"),
        "collet-2.4" => collet(code),
        "collet-2.4-short" => NewPart {
            length: Some("short".to_owned()),
            ..collet(code)
        },
        "body-2.4" => NewPart {
            diameter: Some("2.4 mm".to_owned()),
            ..large("collet-body")
        },
        "lens-2.4" => gas_lens(code),
        "lens-2.4-large" => NewPart {
            arrangement: Some("large-gas-lens".to_owned()),
            ..gas_lens(code)
        },
        "insulator-std" => insulator("standard"),
        "insulator-lens" => insulator("gas-lens"),
        "insulator-large-lens" => insulator("large-gas-lens"),
        "cup-7" => cup(7, "standard"),
        "cup-8" => cup(8, "standard"),
        "cup-7-lens" => cup(7, "gas-lens"),
        "cup-8-lens" => cup(8, "gas-lens"),
        other => panic!("no part {other} of these front ends"),
    }
}

impl TestServer {
    /// Sets up parts of front ends, each with so many in its drawer.
    pub async fn shelve(&self, parts: &[(&str, i64)]) {
        for (code, counted) in parts {
            self.stocked(front_end(code), *counted).await;
        }
    }
}
