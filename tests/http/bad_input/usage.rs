//! Mistakes in logged use: names, words and figures.

use serde_json::json;

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    vec![words(), stubs(), figures(), nothing(), batches()]
}

fn words() -> Table {
    Table {
        path: "/v1/usage",
        right: json!({"torch": "T1", "what": "took", "part": "WLa20-2.4"}),
        mistakes: vec![
            ("part", json!("none"), "/part", "none; list of parts"),
            ("part", json!("cup"), "/part", "T1; cup; code"),
            ("torch", json!("T9"), "/torch", "T9; list of torches"),
            ("site", json!("attic"), "/site", "attic; list of sites"),
            ("job", json!("R-9"), "/job", "R-9; leave it out"),
            ("group", json!("student"), "/group", "student; beginner"),
            ("what", json!("ate"), "/what", "ate; took"),
            ("why", json!("angry"), "/why", "angry; dipped"),
            ("polarity", json!("DC"), "/polarity", "DC; DCEN"),
            ("lot", json!("L 1"), "/lot", "L 1; letters"),
            ("by", json!("x".repeat(81)), "/by", "81; 80"),
            ("note", json!("a\nb"), "/note", "control"),
            ("length", json!("48 mm"), "/length", "48 mm; stub"),
        ],
    }
}

fn stubs() -> Table {
    Table {
        path: "/v1/usage",
        right: json!({"torch": "T1", "what": "stub", "length": "48 mm"}),
        mistakes: vec![
            ("length", json!("48"), "/length", "48; unit"),
            ("length", json!("9 mm"), "/length", "9000; 10 mm"),
            (
                "part",
                json!("collet-2.4"),
                "/part",
                "collet; code of the electrode",
            ),
            ("part", json!("none"), "/part", "none; list of parts"),
        ],
    }
}

fn figures() -> Table {
    Table {
        path: "/v1/usage",
        right: json!({"torch": "T1", "what": "broke", "part": "collet-2.4"}),
        mistakes: vec![
            ("qty", json!(0), "/qty", "0; 1 to 10000"),
            ("qty", json!(-1), "/qty", "-1; 1 to 10000"),
            ("qty", json!(10_001), "/qty", "10001; 1 to 10000"),
            ("arc_minutes", json!(-5), "/arc_minutes", "-5; 0 to 100000"),
            ("grinds", json!(10_001), "/grinds", "10001; 0 to 10000"),
            ("cut_backs", json!(-1), "/cut_backs", "-1; 0 to 10000"),
            ("starts", json!(-1), "/starts", "-1; 0 to 100000"),
            ("amps", json!(0), "/amps", "0; 1 to 2000"),
        ],
    }
}

fn nothing() -> Table {
    Table {
        path: "/v1/usage",
        right: json!({"torch": "T1", "grinds": 3}),
        mistakes: vec![
            ("grinds", json!(null), "/what", "nothing to record"),
            ("grinds", json!(0), "/what", "nothing to record"),
            ("torch", json!(null), "/torch", "missing; torch"),
            ("qty", json!(2), "/what", "missing; took"),
        ],
    }
}

fn batches() -> Table {
    let entries: Vec<_> = (0..1_001).map(|_| json!({})).collect();
    Table {
        path: "/v1/usage/batch",
        right: json!({"entries": [{"id": "one", "torch": "T1", "grinds": 3}]}),
        mistakes: vec![
            ("entries", json!([]), "/entries", "0 entries; 1 to 1000"),
            ("entries", json!(entries), "/entries", "1001; 1 to 1000"),
        ],
    }
}
