//! Kit counts in plain words: how many, what sets the number, and what would raise it.

use types::{KitGain, KitKindCount, KitPieces};

/// How many of one kind.
pub(super) fn one(
    kit: &str,
    count: i64,
    next_kit_wants: &[KitPieces],
    gains: &[KitGain],
) -> Vec<String> {
    let mut says = vec![format!("{}.", kits(count, kit))];
    says.push(format!("The next one wants {}.", listed(next_kit_wants)));
    says.push(one_more(gains));
    says
}

/// What one more piece would give.
pub(super) fn one_more(gains: &[KitGain]) -> String {
    if gains.is_empty() {
        return "No single piece gives another kit.".to_owned();
    }
    let parts: Vec<&str> = gains.iter().map(|gain| gain.part.as_str()).collect();
    format!("One more piece gives another kit: {}.", parts.join(" or "))
}

/// How many of several kinds.
pub(super) fn several(
    kinds: &[KitKindCount],
    (total, is_proven): (i64, bool),
    lacks: &[KitPieces],
) -> Vec<String> {
    let shares: Vec<String> = kinds
        .iter()
        .map(|kind| kits(kind.together, &kind.kit))
        .collect();
    let mut says = vec![format!("At most {total} in all: {}.", shares.join(", "))];
    if !is_proven {
        says.push("The search was stopped; more may be possible.".to_owned());
    }
    let in_order: Vec<String> = kinds
        .iter()
        .map(|kind| kits(kind.in_order, &kind.kit))
        .collect();
    says.push(format!(
        "Filled in the order given: {}.",
        in_order.join(", ")
    ));
    let wanted = kinds.iter().any(|kind| kind.wanted.is_some());
    match lacks {
        _ if !wanted => {}
        [] => says.push("All that are wanted can be made.".to_owned()),
        lacks => says.push(format!(
            "All that are wanted would take {} more.",
            listed(lacks)
        )),
    }
    says
}

fn kits(count: i64, kit: &str) -> String {
    let noun = if count == 1 { "kit" } else { "kits" };
    format!("{count} {noun} {kit}")
}

/// `1 o-ring-large and 2 collet-2.4`.
fn listed(pieces: &[KitPieces]) -> String {
    let each: Vec<String> = pieces
        .iter()
        .map(|piece| format!("{} {}", piece.quantity, piece.part))
        .collect();
    match each.split_last() {
        None => "nothing".to_owned(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}
