//! Mistakes in what is planned: jobs, kits, torches, sites, suppliers, offers and orders.

use serde_json::json;

use super::Table;

pub(super) fn tables() -> Vec<Table> {
    vec![
        jobs(),
        kits(),
        torches(),
        sites(),
        suppliers(),
        offers(),
        orders(),
    ]
}

fn jobs() -> Table {
    Table {
        path: "/v1/jobs",
        right: json!({"code": "R-1", "torch": "T1", "arc_minutes": 60, "start": "2026-07-01"}),
        mistakes: vec![
            ("torch", json!("T9"), "/torch", "T9; list"),
            ("torch", json!(null), "/torch", "missing; kit"),
            ("kit", json!("K-9"), "/kit", "K-9; list"),
            ("site", json!("attic"), "/site", "attic; list"),
            ("group", json!("student"), "/group", "student; beginner"),
            ("arc_minutes", json!(0), "/arc_minutes", "0; 1 to"),
            ("arc_minutes", json!(null), "/arc_minutes", "no size; weeks"),
            ("grinds", json!(-1), "/grinds", "-1; 1 to"),
            ("weeks", json!(-1.0), "/weeks", "0.1 to 520"),
            ("target", json!(1.0), "/target", "0.5 to 0.9999"),
            ("start_time", json!("7"), "/start_time", "7; 07:00"),
            ("start_time", json!("25:00"), "/start_time", "25:00; 07:00"),
            ("spread", json!(-0.1), "/spread", "-0.1; from 0; to 1"),
            ("spread", json!(1.5), "/spread", "1.5; from 0; to 1"),
            (
                "arc_minutes_per_day",
                json!(0),
                "/arc_minutes_per_day",
                "0; 1 to 1440",
            ),
            ("left_out", json!(["none"]), "/left_out/0", "none; list"),
            (
                "conditions",
                json!(["purge", "sunny"]),
                "/conditions/1",
                "sunny; purge, enclosed, stainless, coated",
            ),
            ("code", json!("R 1"), "/code", "R 1; letters"),
        ],
    }
}

fn kits() -> Table {
    let twice = json!([{"part": "WLa20-2.4"}, {"part": "wla20-2.4"}]);
    let none = json!([{"part": "WLa20-2.4", "quantity": 0}]);
    Table {
        path: "/v1/kits",
        right: json!({"code": "K-1", "parts": [{"part": "WLa20-2.4"}]}),
        mistakes: vec![
            ("parts", json!([]), "/parts", "empty; at least one"),
            ("parts", json!([{"part": "none"}]), "/parts/0/part", "none"),
            ("parts", none, "/parts/0/quantity", "0; 1 to 1000"),
            ("parts", twice, "/parts/1/part", "twice; one line"),
        ],
    }
}

fn torches() -> Table {
    Table {
        path: "/v1/torches",
        right: json!({"code": "T2", "family": "large"}),
        mistakes: vec![
            ("family", json!("medium"), "/family", "medium; small"),
            ("site", json!("attic"), "/site", "attic; list"),
            ("name", json!("x".repeat(81)), "/name", "81; 80"),
        ],
    }
}

fn sites() -> Table {
    Table {
        path: "/v1/sites",
        right: json!({"code": "school", "zone": "America/Halifax"}),
        mistakes: vec![
            ("barred", json!(["red"]), "/barred/0", "red; thoriated"),
            ("barred", json!(["WTh20", "W9"]), "/barred/1", "W9; class"),
            ("barred", json!(vec!["WTh20"; 14]), "/barred", "14; once"),
            (
                "responsible",
                json!("x".repeat(81)),
                "/responsible",
                "81; 80",
            ),
            ("discard_length", json!("35"), "/discard_length", "35; unit"),
            ("zone", json!("Atlantic"), "/zone", "Atlantic; IANA name"),
            ("zone", json!(""), "/zone", "America/Halifax"),
            ("code", json!("-"), "/code", "letters"),
        ],
    }
}

fn suppliers() -> Table {
    Table {
        path: "/v1/suppliers",
        right: json!({"code": "millrace", "currency": "CAD", "lead_time_days": 5}),
        mistakes: vec![
            ("currency", json!("CAN"), "/currency", "CAN; ISO 4217"),
            ("cut_off", json!("noon"), "/cut_off", "noon; 12:00"),
            ("cut_off", json!("24:00"), "/cut_off", "24:00; 12:00"),
            ("lead_time_days", json!(366), "/lead_time_days", "366; 365"),
            ("lead_time_days", json!(-1), "/lead_time_days", "-1; 0 to"),
            ("freight_minor", json!(-1), "/freight_minor", "-1; 0 to"),
            ("minimum_minor", json!(-1), "/minimum_minor", "-1; 0 to"),
            ("free_over_minor", json!(-1), "/free_over_minor", "-1; 0 to"),
            (
                "closures",
                json!([{"first": "2027-01-03", "last": "2026-12-24"}]),
                "/closures",
                "2027-01-03; 2026-12-24; swap",
            ),
            (
                "closures",
                json!([{"first": "2026-06-15", "last": "2028-06-15"}]),
                "/closures",
                "no open day; 2026-06-15; shorten",
            ),
        ],
    }
}

fn offers() -> Table {
    Table {
        path: "/v1/offers",
        right: json!({"supplier": "quayhead", "part": "WLa20-2.4", "pack_size": 5, "price_minor": 4000}),
        mistakes: vec![
            ("supplier", json!("nobody"), "/supplier", "nobody; list"),
            ("part", json!("none"), "/part", "none; list"),
            ("pack_size", json!(0), "/pack_size", "0; 1 to"),
            ("price_minor", json!(-1), "/price_minor", "-1; 0 to"),
            (
                "breaks",
                json!([{"packs_min": 1, "price_minor": -1}]),
                "/breaks/0/packs_min",
                "1; above 1; from 2 on",
            ),
            (
                "breaks",
                json!([{"packs_min": 3, "price_minor": 5000}]),
                "/breaks/0/price_minor",
                "5000; not below; no break",
            ),
        ],
    }
}

fn orders() -> Table {
    let line = |pack_size: i64, packs: i64| {
        let line = json!({"part": "WLa20-2.4", "pack_size": pack_size, "packs": packs});
        json!([line])
    };
    let none = json!([{"part": "none", "pack_size": 10, "packs": 1}]);
    Table {
        path: "/v1/orders",
        right: json!({"supplier": "quayhead", "lines": line(10, 1)}),
        mistakes: vec![
            ("supplier", json!("nobody"), "/supplier", "nobody; list"),
            ("job", json!("R-9"), "/job", "R-9; list"),
            ("site", json!("attic"), "/site", "attic; list"),
            ("lines", json!([]), "/lines", "empty; at least one"),
            ("lines", line(10, 0), "/lines/0/packs", "0; 1 to 10000"),
            (
                "lines",
                line(7, 1),
                "/lines/0/pack_size",
                "7; see the offers",
            ),
            ("lines", none, "/lines/0/part", "none; list of parts"),
        ],
    }
}
