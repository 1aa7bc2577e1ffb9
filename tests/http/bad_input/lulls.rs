//! Mistakes in lulls.

use serde_json::json;

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    let right = json!({
        "site": "yard", "first": "2026-12-24", "last": "2027-01-03", "share": 0.0,
        "note": "shut over the holidays",
    });
    let before = "2026-12-23; 2026-12-24; later";
    let mistakes = vec![
        ("site", json!("attic"), "/site", "attic; list"),
        ("last", json!("2026-12-23"), "/last", before),
        (
            "last",
            json!("2027-12-25"),
            "/last",
            "367 days; at most 366",
        ),
        ("first", json!("1969-12-31"), "/first", "1969-12-31; 1970"),
        ("last", json!("+10000-01-01"), "/last", "10000-01-01; 9999"),
        ("share", json!(-0.1), "/share", "-0.1; from 0"),
        ("share", json!(5.1), "/share", "5.1; to 5"),
        ("share", json!(1e300), "/share", "to 5"),
        ("note", json!("x".repeat(201)), "/note", "201; 200"),
        (
            "note",
            json!("a\nb"),
            "/note",
            "control character; one line",
        ),
    ];
    vec![Table {
        path: "/v1/lulls",
        right,
        mistakes,
    }]
}
