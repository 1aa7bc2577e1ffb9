//! Mistakes in parts: sizes, classes and words that name nothing, and fields of another kind.

use serde_json::{Value, json};

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    vec![electrodes(), cups(), cups_by_bore()]
}

fn electrodes() -> Table {
    let no_shape = json!([{"per": "arc-hour", "shape": 0.0, "rate": 20.0}]);
    let no_driver = json!([{"per": "year", "shape": 1.0, "rate": 20.0}]);
    Table {
        path: "/v1/parts",
        right: json!({"code": "new", "kind": "electrode", "class": "WLa20", "diameter": "2.4 mm"}),
        mistakes: vec![
            ("diameter", json!("2.45 mm"), "/diameter", "2.45; 2.4 mm"),
            ("diameter", json!("3-Feb"), "/diameter", "3-Feb; 3/32; date"),
            ("diameter", json!("2,4"), "/diameter", "2,4; 2.4"),
            ("diameter", Value::Null, "/diameter", "missing; 2.4 mm"),
            ("class", json!("WLa99"), "/class", "WLa99"),
            ("class", json!("gold"), "/class", "gold; colour; WLa15"),
            ("class", json!("orange"), "/class", "orange; colour; WCe20"),
            ("class", Value::Null, "/class", "missing; WLa20"),
            ("length", json!("150"), "/length", "150; 150 mm"),
            ("kind", json!("nozzle"), "/kind", "nozzle; cup"),
            ("code", json!("a b"), "/code", "a b; letters"),
            ("code", json!(""), "/code", "missing"),
            ("code", json!("x".repeat(65)), "/code", "65; 64"),
            ("seat", json!("standard"), "/seat", "seat; leave it out"),
            ("family", json!("large"), "/family", "leave it out"),
            ("bore", json!("11 mm"), "/bore", "bore; leave it out"),
            ("note", json!("x".repeat(401)), "/note", "401; 400"),
            ("marking", json!("a\u{7}b"), "/marking", "control"),
            (
                "starting_assumptions",
                no_shape,
                "/starting_assumptions/0",
                "0",
            ),
            (
                "starting_assumptions",
                no_driver,
                "/starting_assumptions/0",
                "year; arc-hour",
            ),
        ],
    }
}

fn cups() -> Table {
    Table {
        path: "/v1/parts",
        right: json!({
            "code": "cup-7", "kind": "cup", "cup_number": 7, "seat": "standard", "family": "large",
        }),
        mistakes: vec![
            ("cup_number", json!(99), "/cup_number", "99; 3 to 24"),
            ("cup_number", Value::Null, "/cup_number", "missing; 7; bore"),
            ("seat", json!("tight"), "/seat", "tight; gas-lens"),
            (
                "seat",
                Value::Null,
                "/seat",
                "missing; standard, gas-lens or large-gas-lens",
            ),
            ("family", json!("huge"), "/family", "huge; small, large"),
            ("family", Value::Null, "/family", "missing; small or large"),
            ("class", json!("WLa20"), "/class", "leave it out"),
        ],
    }
}

fn cups_by_bore() -> Table {
    Table {
        path: "/v1/parts",
        right: json!({
            "code": "cup-measured", "kind": "cup", "bore": "7/16 in", "seat": "standard",
            "family": "large",
        }),
        mistakes: vec![
            (
                "cup_number",
                json!(8),
                "/bore",
                "7/16 in; no. 7; no. 8; one",
            ),
            ("bore", json!("11.2 mm"), "/bore", "11.2 mm; no. 7; no. 8"),
            ("bore", json!("7"), "/bore", "7; no. 4; no. 5"),
            ("bore", json!("11,1"), "/bore", "11,1; 11.1"),
            ("bore", json!("16-Jul"), "/bore", "16-Jul; date; 7/16in"),
            ("bore", json!(""), "/bore", "missing; 7/16 in"),
            ("bore", Value::Null, "/cup_number", "missing; bore"),
            ("seat", Value::Null, "/seat", "missing; standard, gas-lens"),
        ],
    }
}
