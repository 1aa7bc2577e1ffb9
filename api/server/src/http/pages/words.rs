//! How pages say what they tell: a shape and a word for each kind, instants as people at the site write them,
//! and the next action apart from the rest.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use maud::{Markup, html};

/// A shape and a word for a kind of line or warning; the shape is there for the eye, and said to nobody.
pub(super) fn kind(kind: &str) -> Markup {
    let (shape, word) = match kind {
        "late" => ("\u{25c6}", "Overdue"),
        "none-left" => ("\u{25a0}", "None left"),
        "question" => ("?", "Question"),
        "order-by" => ("\u{25b2}", "Order by then"),
        "order-point" => ("\u{25b2}", "Order"),
        "blocked" => ("\u{25a0}", "Blocked"),
        "kit" => ("\u{25a0}", "Kit"),
        "count" => ("\u{25cf}", "Count"),
        "cannot-say" => ("?", "Cannot say"),
        "torch-wear" => ("\u{25cf}", "Check torch"),
        "lot-on-hold" => ("\u{2716}", "Lot on hold"),
        "barred-received" => ("\u{2716}", "Barred material received"),
        "barred-used" => ("\u{2716}", "Barred material used"),
        _ => ("\u{25cf}", "See"),
    };
    html! { span aria-hidden="true" { (shape) } " " (word) }
}

/// `Wed 24 Jun 12:00`, at the site.
pub(super) fn time(at: DateTime<Utc>, zone: Tz) -> String {
    at.with_timezone(&zone)
        .format("%a %-d %b %H:%M")
        .to_string()
}

/// What is told, with its next action in a line of its own.
pub(super) fn told(says: &str) -> Markup {
    let (what, next) = says
        .split_once("Next: ")
        .map_or((says, None), |(what, next)| (what.trim(), Some(next)));
    html! {
        p { (what) }
        @if let Some(next) = next { p { strong { "Next: " } (next) } }
    }
}

/// A chance in whole percent; what is not certain is not called so.
pub(super) fn percent(chance: f64) -> String {
    match chance * 100.0 {
        under if under < 1.0 => "under 1 %".to_owned(),
        over if over > 99.0 => "over 99 %".to_owned(),
        percent => format!("{percent:.0} %"),
    }
}
