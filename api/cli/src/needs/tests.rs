//! The needs of scenario S5, and the exit codes.

use serde_json::json;

use super::*;
use crate::output::Format;

/// The electrode, the collet and the gas lens of scenario S5. The figures are the scenario's; what it
/// does not give is invented.
fn needs() -> Needs {
    let line = |part: &str,
                name: &str,
                expected: f64,
                stock: [i64; 4],
                order: serde_json::Value| {
        let [need, available, short, after] = stock;
        json!({
            "part": part, "name": name, "expected": expected, "need": need,
            "available": available, "on_order": 0, "on_order_late": 0, "short": short, "order": order, "after": after,
            "chance_now": 0.5, "chance_after": 0.99, "left_low": 4, "left_high": 12,
            "rung": { "number": 2, "name": "typed estimate" }, "own_share": 0.95, "why": "",
        })
    };
    let order = |packs: i64, pack_size: i64, cost: i64| {
        json!({
            "supplier": "quayhead", "packs": packs, "pack_size": pack_size,
            "pieces": packs * pack_size, "cost_minor": cost, "currency": "CAD",
        })
    };
    let electrode = "Electrode WLa20 2.4 mm";
    serde_json::from_value(json!({
        "job": "R-118", "as_of": "2026-06-15T11:00:00Z", "start": "2026-06-26", "start_time": "07:00", "gap_minor": 0, "target": 0.95,
        "chance_now": 0.2705, "chance_after": 0.9720, "target_met": true,
        "lines": [
            line("WLa20-2.4", electrode, 4.744, [9, 3, 6, 13], order(1, 10, 4200)),
            line("collet-2.4", "Collet 2.4 mm", 0.554, [2, 1, 1, 6], order(1, 5, 1250)),
            line("gas-lens-2.4", "Gas lens 2.4 mm", 0.1667, [1, 1, 0, 1], json!(null)),
        ],
        "orders": [{
            "supplier": "quayhead", "parts": ["WLa20-2.4", "collet-2.4"], "goods_minor": 5450,
            "freight_minor": 0, "cost_minor": 5450, "currency": "CAD", "lead_time_days": 1,
            "lines": [
                { "part": "WLa20-2.4", "packs": 1, "pack_size": 10, "pieces": 10, "cost_minor": 4200 },
                { "part": "collet-2.4", "packs": 1, "pack_size": 5, "pieces": 5, "cost_minor": 1250 },
            ],
            "order_by": "2026-06-24T12:00:00", "arrives": "2026-06-16", "in_time": true,
        }],
        "cannot_tell": [], "left_out": [],
        "says": [
            "Chance this job runs without a stop: 27 % now, 97 % after this order.",
            "Largest gain from one more piece: gas-lens-2.4.",
        ],
        "assumes": ["Parts are used up independently of each other."], "cautions": ["Hot parts."],
    }))
    .expect("these are needs")
}

fn printed(needs: &Needs, format: Format) -> (String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut output = Output::new(&mut out, &mut err, format);
    show(needs, &mut output);
    output.finish(exit::DONE);
    (
        String::from_utf8(out).expect("it is text"),
        String::from_utf8(err).expect("it is text"),
    )
}

#[test]
fn the_table_and_the_sentences_are_those_of_the_scenario() {
    let (out, err) = printed(&needs(), Format::Table);
    let words = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    let lines: Vec<String> = out.lines().map(words).collect();
    let expected = [
        "Part Expected use Need at 95 % Available Short Order After",
        "Electrode WLa20 2.4 mm 4.7 9 3 6 1 pack of 10 13",
        "Collet 2.4 mm 0.55 2 1 1 1 pack of 5 6",
        "Gas lens 2.4 mm 0.17 1 1 0 - 1",
        "Chance this job runs without a stop: 27 % now, 97 % after this order.",
        "Largest gain from one more piece: gas-lens-2.4.",
        "Parts are used up independently of each other.",
    ];
    let rule = |line: &str| line.chars().all(|it| it == '-');
    let told: Vec<&str> = lines
        .iter()
        .map(String::as_str)
        .filter(|line| !line.is_empty() && !rule(line))
        .collect();
    assert_eq!(told, expected);
    assert_eq!(err, "Hot parts.\n");
}

#[test]
fn csv_has_one_row_a_part_and_nothing_else() {
    let (out, _) = printed(&needs(), Format::Csv);
    let mut reader = csv::Reader::from_reader(out.as_bytes());
    let headers = reader.headers().expect("a header row").clone();
    assert_eq!(
        headers.iter().take(5).collect::<Vec<_>>(),
        ["job", "part", "name", "expected", "need"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 3);
    assert_eq!(&rows[0][3], "4.744");
}

#[test]
fn json_is_what_the_service_answered() {
    let (out, err) = printed(&needs(), Format::Json);
    assert_eq!(
        serde_json::from_str::<Needs>(&out).expect("it is JSON"),
        needs()
    );
    assert_eq!(err, "");
}

#[test]
fn the_exit_code_says_what_to_do() {
    assert_eq!(exit_code(&needs()), exit::TO_ORDER);

    let mut enough = needs();
    enough.orders.clear();
    for line in &mut enough.lines {
        (line.short, line.order) = (0, None);
    }
    assert_eq!(exit_code(&enough), exit::DONE);
    enough.target_met = false;
    assert_eq!(exit_code(&enough), exit::TO_ORDER);

    let mut late = needs();
    late.orders[0].in_time = false;
    assert_eq!(exit_code(&late), exit::BLOCKED);

    // What the procedure permits in their place covers one of the two parts that come too late, then
    // both.
    let covering = |part: &str| {
        json!({
            "instead_of": part, "part": "other", "name": "Another", "on_hand": 9, "allocated": [],
            "available": 7, "together": 9, "need": 6, "covers": true,
        })
    };
    let mut parts = vec![covering("WLa20-2.4")];
    for expected in [exit::BLOCKED, exit::TO_ORDER] {
        let procedure = json!({
            "procedure": "PROC-11", "revision": 0, "newest_revision": 0, "substitution": true,
            "allowed": parts, "not_offered": [],
        });
        late.procedure = Some(serde_json::from_value(procedure).expect("a procedure"));
        assert_eq!(exit_code(&late), expected);
        parts.push(covering("collet-2.4"));
    }

    let mut not_offered = needs();
    not_offered.lines[0].order = None;
    assert_eq!(exit_code(&not_offered), exit::BLOCKED);

    let mut unknown = needs();
    unknown.lines.clear();
    assert_eq!(exit_code(&unknown), exit::UNKNOWN);

    let mut unclear = needs();
    unclear.cannot_tell.push(types::CannotTell {
        part: "cup-7".to_owned(),
        why: "nothing is logged".to_owned(),
    });
    assert_eq!(exit_code(&unclear), exit::UNKNOWN);
}
