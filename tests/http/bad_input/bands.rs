//! Mistakes in the shop's own bands of current.

use serde_json::{Value, json};

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    let right = json!({
        "diameter": "2.4 mm", "class": "WLa20", "polarity": "AC", "wave": "balanced",
        "amps_min": 60, "amps_max": 160, "source": "own trials, invented",
    });
    let mistakes = vec![
        ("diameter", json!("2.45 mm"), "/diameter", "2.45; 2.4 mm"),
        ("class", json!("gold"), "/class", "gold; colour; WLa15"),
        ("class", json!("unidentified"), "/class", "leave it out"),
        ("polarity", json!("DC"), "/polarity", "DC; DCEN, DCEP, AC"),
        ("polarity", json!("DCEN"), "/wave", "DCEN; leave it out"),
        (
            "wave",
            Value::Null,
            "/wave",
            "missing; balanced or unbalanced",
        ),
        ("wave", json!("square"), "/wave", "square; unbalanced"),
        ("amps_min", json!(160), "/amps_max", "160 A; greater"),
        ("amps_min", json!(200), "/amps_max", "160 A; 200 A; greater"),
        ("amps_min", json!(0), "/amps_min", "0 A; 1 to 2000 A"),
        ("amps_max", json!(2001), "/amps_max", "2001 A; 1 to 2000 A"),
        ("source", json!(" "), "/source", "missing; where"),
        ("source", json!("x".repeat(201)), "/source", "201; 200"),
    ];
    vec![Table {
        path: "/v1/current-bands",
        right,
        mistakes,
    }]
}
