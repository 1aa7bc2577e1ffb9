//! Mistakes in the weld list and the gas of a job.

use serde_json::{Value, json};

use super::{Mistake, Table};

pub(super) fn tables() -> Vec<Table> {
    vec![welds(), gas()]
}

/// A weld that is right, with one field changed; null leaves it out.
fn weld(field: &str, value: Value) -> Value {
    let mut weld = json!({
        "joint": "fillet",
        "leg_um": 3000,
        "length_mm": 6000,
        "speed_mm_per_minute": 250,
        "material": "stainless",
    });
    weld[field] = value;
    json!([weld])
}

fn wrong(field: &'static str, value: Value, told: &'static str, words: &'static str) -> Mistake {
    (field, value, told, words)
}

fn welds() -> Table {
    let one = |field: &str, value: Value, told: &'static str, words: &'static str| {
        wrong("welds", weld(field, value), told, words)
    };
    Table {
        path: "/v1/jobs",
        right: json!({"code": "R-2", "torch": "T1", "start": "2026-07-01", "welds": weld("passes", json!(1))}),
        mistakes: vec![
            one(
                "length_mm",
                json!(-6000),
                "/welds/0/length_mm",
                "-6000 mm; 1 to",
            ),
            one("length_mm", json!(0), "/welds/0/length_mm", "0 mm; 1 to"),
            one(
                "speed_mm_per_minute",
                json!(0),
                "/welds/0/speed_mm_per_minute",
                "0 mm/min; 5 to 5000",
            ),
            one("leg_um", json!(0), "/welds/0/leg_um", "0 um; 500 to"),
            one("leg_um", json!(null), "/welds/0/leg_um", "missing; fillet"),
            one("passes", json!(0), "/welds/0/passes", "0 passes; 1 to 100"),
            one("starts", json!(0), "/welds/0/starts", "0 starts; 1 to"),
            one(
                "over_weld_percent",
                json!(90),
                "/welds/0/over_weld_percent",
                "90 per cent; 100 to 300",
            ),
            one(
                "efficiency_percent",
                json!(0),
                "/welds/0/efficiency_percent",
                "0 per cent; 10 to 100",
            ),
            one("joint", json!("butt"), "/welds/0/joint", "butt; single-v"),
            one(
                "area_um2",
                json!(1),
                "/welds/0/area_um2",
                "not of a fillet; leave",
            ),
            one(
                "material",
                json!("tin"),
                "/welds/0/material",
                "tin; aluminium",
            ),
            one("filler", json!("none"), "/welds/0/filler", "none; list"),
            one(
                "filler",
                json!("WLa20-2.4"),
                "/welds/0/filler",
                "WLa20-2.4; electrode; not a filler-rod",
            ),
            wrong("welds", json!([]), "/arc_minutes", "no size; welds"),
        ],
    }
}

fn gas() -> Table {
    Table {
        path: "/v1/jobs",
        right: json!({"code": "R-3", "torch": "T1", "start": "2026-07-01", "arc_minutes": 60}),
        mistakes: vec![
            ("gas", json!("argon"), "/gas_flow", "missing; 8 L/min"),
            ("gas_flow", json!("8 L/min"), "/gas_flow", "alone; gas"),
            ("gas_flow", json!("8"), "/gas_flow", "8; unit; 17 cfh"),
            (
                "gas_flow",
                json!("0 L/min"),
                "/gas_flow",
                "0 mL; 0.1 to 200",
            ),
            ("pre_flow_ms", json!(-1), "/pre_flow_ms", "-1; 0 to 600000"),
            (
                "post_flow_ms",
                json!(600_001),
                "/post_flow_ms",
                "600001; 0 to 600000",
            ),
            ("purge_litres", json!(-5), "/purge_litres", "-5; 0 to"),
        ],
    }
}
