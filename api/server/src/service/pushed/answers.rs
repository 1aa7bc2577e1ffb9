//! What the ledger answered, in the two words and the line that a row gets.

use types::{KeptAside, Recorded};

use super::{Judged, Outcome};
use crate::service::ledger::{ACCEPTED, Answer};

/// What became of a row by the answer of the ledger. Where nothing stays, what would be asked is not.
pub(super) fn told(answer: &Answer, note: &str, only_try: bool) -> Judged {
    if answer.status == ACCEPTED {
        let aside = serde_json::from_str::<KeptAside>(&answer.body);
        return Judged {
            outcome: Outcome::KeptAside,
            what_to_do: aside.map_or_else(|_| "see the questions".to_owned(), |aside| aside.says),
        };
    }
    let is_old = answer.repeated;
    let outcome = if is_old {
        Outcome::AlreadyIn
    } else {
        Outcome::In
    };
    let recorded = serde_json::from_str::<Recorded>(&answer.body).ok();
    // What was told long ago may be settled by now.
    let said = recorded
        .filter(|_| !is_old)
        .map(|it| worth_knowing(&it, only_try));
    let lines = [note.to_owned(), said.unwrap_or_default()];
    let lines: Vec<String> = lines.into_iter().filter(|it| !it.is_empty()).collect();
    Judged {
        outcome,
        what_to_do: lines.join("; "),
    }
}

/// What whoever sends a sheet should know of an entry: a book below zero, what is held, what is asked, and the
/// cautions.
fn worth_knowing(recorded: &Recorded, only_try: bool) -> String {
    let is_below = recorded.stock.iter().any(|stock| stock.on_hand < 0);
    let is_held = recorded
        .stock
        .iter()
        .any(|stock| stock.available < stock.on_hand)
        && recorded.says.contains("held");
    let asks = !only_try && !recorded.questions.is_empty();
    let mut lines = Vec::new();
    if is_below
        || is_held
        || asks
        || !recorded.differences.is_empty()
        || !recorded.cautions.is_empty()
    {
        lines.push(recorded.says.clone());
    }
    if is_below {
        lines.push("The book is below zero: it heads the count list.".to_owned());
    }
    lines.extend(recorded.cautions.iter().cloned());
    lines.join(" ")
}
