//! Mistakes in courses.

use serde_json::{Value, json};

use super::Table;

/// A course that is right.
pub(super) fn right() -> Value {
    json!({
        "code": "course-0912",
        "kit": "K-0",
        "starts": "2026-09-12",
        "ends": "2026-09-13",
        "heads": 12,
        "stations": 6,
    })
}

pub(super) fn tables() -> Vec<Table> {
    vec![Table {
        path: "/v1/courses",
        right: right(),
        mistakes: vec![
            ("heads", json!(0), "/heads", "0 students; 1 to 1000"),
            ("heads", json!(-12), "/heads", "-12; 1 to 1000"),
            ("stations", json!(0), "/stations", "0 stations; 1 to 500"),
            (
                "stations",
                json!(13),
                "/stations",
                "13; 12 students; no more",
            ),
            ("days", json!(0), "/days", "0 days; 1 to 366"),
            ("days", json!(3), "/days", "3 days; at most 2"),
            ("days", json!(367), "/days", "367; 1 to 366"),
            (
                "ends",
                json!("2026-09-11"),
                "/ends",
                "2026-09-11; 2026-09-12; later",
            ),
            ("kit", json!("K-9"), "/kit", "K-9; list"),
            ("kit", json!(""), "/kit", "missing; kit"),
            ("site", json!("attic"), "/site", "attic; list"),
            ("group", json!("student"), "/group", "student; beginner"),
            ("group", json!("own"), "/group", "own; beginner"),
            ("target", json!(1.0), "/target", "0.5 to 0.9999"),
            ("clumsiness", json!(1.5), "/clumsiness", "1.5; from 0"),
            ("clumsiness", json!(-0.1), "/clumsiness", "-0.1; from 0"),
            (
                "grinds_per_student_day",
                json!(0.0),
                "/grinds_per_student_day",
                "0; above 0",
            ),
            (
                "minutes_between_visits",
                json!(400),
                "/minutes_between_visits",
                "400; 5 to 360",
            ),
            ("minutes_a_day", json!(10), "/minutes_a_day", "10; 30 to"),
            ("exercises", json!([" "]), "/exercises/0", "empty; leave"),
            (
                "exercises",
                json!(["x".repeat(81)]),
                "/exercises/0",
                "81; 80",
            ),
            ("left_out", json!(["none"]), "/left_out/0", "none; list"),
            ("code", json!("course 1"), "/code", "course 1; letters"),
        ],
    }]
}
