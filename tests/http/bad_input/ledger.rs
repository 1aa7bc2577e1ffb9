//! Mistakes in counts, movements, receipts, transfers and stubs.

use serde_json::json;

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    vec![counts(), movements(), receipts(), transfers(), stubs()]
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
            (
                "kind",
                json!("transfer"),
                "/kind",
                "transfer; supplier-return",
            ),
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

fn transfers() -> Table {
    Table {
        path: "/v1/transfers",
        right: json!({"part": "WLa20-2.4", "quantity": 1, "from": "shop", "to": "yard"}),
        mistakes: vec![
            ("quantity", json!(0), "/quantity", "0; 1 to 1000000000"),
            ("quantity", json!(4), "/quantity", "4 of; 3 can be; fewer"),
            ("from", json!("attic"), "/from", "attic; list of sites"),
            ("to", json!("attic"), "/to", "attic; list of sites"),
            ("to", json!("SHOP"), "/to", "SHOP; another site"),
            ("part", json!("none"), "/part", "none; list of parts"),
            ("lot", json!("a b"), "/lot", "a b; letters"),
        ],
    }
}

fn stubs() -> Table {
    Table {
        path: "/v1/stubs",
        right: json!({"class": "unidentified", "diameter": "2.4 mm", "length": "48 mm"}),
        mistakes: vec![
            ("what", json!("eat"), "/what", "eat; add, take or scrap"),
            ("what", json!("take"), "/quantity", "1 stubs; 0 in the jar"),
            ("class", json!("red"), "/class", "red; thoriated; packet"),
            ("diameter", json!("2.45"), "/diameter", "2.45; 2.4 mm"),
            ("length", json!("48"), "/length", "48; unit"),
            ("length", json!("1 mm"), "/length", "1000; 10 mm"),
            ("quantity", json!(0), "/quantity", "0; 1 to 10000"),
            ("site", json!("attic"), "/site", "attic; list of sites"),
        ],
    }
}
