//! Mistakes in counts, movements and receipts.

use serde_json::json;

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    vec![counts(), movements(), receipts()]
}

fn counts() -> Table {
    Table {
        path: "/v1/counts",
        right: json!({"part": "WLa20-2.4", "counted": 3}),
        mistakes: vec![
            ("counted", json!(-1), "/counted", "-1; negative"),
            (
                "counted",
                json!(1_000_000_001),
                "/counted",
                "1000000001; 0 to",
            ),
            ("part", json!("none"), "/part", "none; list of parts"),
            ("part", json!("a b"), "/part", "a b; letters"),
            ("drawer", json!("9"), "/drawer", "drawer 9; leave"),
            ("drawer", json!("a b"), "/drawer", "a b; letters"),
            ("id", json!("other"), "/id", "other; leave it out"),
            ("site", json!("attic"), "/site", "attic; list of sites"),
        ],
    }
}

fn movements() -> Table {
    Table {
        path: "/v1/movements",
        right: json!({"part": "WLa20-2.4", "kind": "scrap", "quantity": 1}),
        mistakes: vec![
            ("kind", json!("receipt"), "/kind", "receipt; scrap"),
            ("kind", json!("theft"), "/kind", "theft; adjustment"),
            ("kind", json!("adjustment"), "/why", "missing; say why"),
            ("kind", json!("release"), "/quantity", "1 of; 0 on hold"),
            ("quantity", json!(0), "/quantity", "0; 1 to 1000000000"),
            ("quantity", json!(-1), "/quantity", "-1; 1 to 1000000000"),
            ("quantity", json!(1_000_000_001), "/quantity", "1000000001"),
            ("job", json!("R-9"), "/job", "R-9; leave it out"),
        ],
    }
}

fn receipts() -> Table {
    Table {
        path: "/v1/receipts",
        right: json!({"part": "WLa20-2.4", "quantity": 10}),
        mistakes: vec![
            ("quantity", json!(0), "/quantity", "0; 1 to 1000000000"),
            ("quantity", json!(-10), "/quantity", "-10; 1 to 1000000000"),
            ("quantity", json!(1_000_000_001), "/quantity", "1000000001"),
            ("order", json!(77), "/order", "77; list of orders"),
            ("group", json!(""), "/group", "own, helper"),
            ("part", json!("none"), "/part", "none; list of parts"),
        ],
    }
}
