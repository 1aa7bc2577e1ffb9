//! How many kits shared stock makes, against two other solvers.

use std::collections::BTreeMap;

use domain::kit::count::{Kind, Slot, alone, fewest_more, in_order, together};
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    input: Input,
    expected: Expected,
}

#[derive(Deserialize)]
struct Input {
    stock: BTreeMap<String, i64>,
    kits: Vec<Kit>,
}

#[derive(Deserialize)]
struct Kit {
    #[serde(rename = "kit")]
    name: String,
    target: i64,
    priority: usize,
    slots: Vec<KitSlot>,
}

#[derive(Deserialize)]
struct KitSlot {
    quantity: i64,
    alternatives: Vec<String>,
}

#[derive(Deserialize)]
struct Expected {
    max_alone: BTreeMap<String, i64>,
    max_total_capped: i64,
    lexicographic: BTreeMap<String, i64>,
    all_targets_met: bool,
    fewest_extra_pieces_for_all_targets: i64,
}

/// The case in the terms of the domain, by priority.
fn subject(mut input: Input) -> (Vec<i64>, Vec<String>, Vec<Kind>) {
    input.kits.sort_by_key(|kit| kit.priority);
    let index: BTreeMap<&String, usize> = input.stock.keys().zip(0..).collect();
    let slot = |slot: &KitSlot| Slot {
        quantity: slot.quantity,
        alternatives: slot.alternatives.iter().map(|part| index[part]).collect(),
    };
    let kind = |kit: &Kit| Kind {
        ways: vec![kit.slots.iter().map(slot).collect()],
        wanted: Some(kit.target),
    };
    let kinds = input.kits.iter().map(kind).collect();
    let names = input.kits.iter().map(|kit| kit.name.clone()).collect();
    (input.stock.values().copied().collect(), names, kinds)
}

#[test]
fn kits_of_shared_stock_are_counted_as_two_other_solvers_count_them() {
    let text = include_str!("data/kit_count.json");
    let vectors: Vectors = serde_json::from_str(text).expect("the vectors are readable");
    assert_eq!(vectors.cases.len(), 10);
    for Case {
        id,
        input,
        expected,
    } in vectors.cases
    {
        let (stock, names, kinds) = subject(input);
        for (name, kind) in names.iter().zip(&kinds) {
            let made = alone(&stock, kind).expect("a count");
            assert_eq!(made, expected.max_alone[name], "{id}: {name} alone");
        }
        let most = together(&stock, &kinds).expect("a count");
        let total: i64 = most.kits.iter().sum();
        assert_eq!(total, expected.max_total_capped, "{id}: in all");
        assert!(most.is_proven, "{id}");
        let met = kinds
            .iter()
            .zip(&most.kits)
            .all(|(kind, made)| kind.wanted == Some(*made));
        assert_eq!(met, expected.all_targets_met, "{id}: all that is wanted");
        let first = in_order(&stock, &kinds).expect("a count");
        for (name, made) in names.iter().zip(&first) {
            assert_eq!(*made, expected.lexicographic[name], "{id}: {name} in order");
        }
        let wanted: Vec<i64> = kinds.iter().filter_map(|kind| kind.wanted).collect();
        let more = fewest_more(&stock, &kinds, &wanted).expect("a count");
        let pieces: i64 = more.iter().map(|(_, pieces)| pieces).sum();
        assert_eq!(
            pieces, expected.fewest_extra_pieces_for_all_targets,
            "{id}: to be added"
        );
    }
}
