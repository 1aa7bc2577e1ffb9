//! The one line that answers an entry, and what is asked about entries.

use chrono::{DateTime, FixedOffset};
use domain::ledger::MovementKind;
use domain::size::{Diameter, RodLength};
use types::{NewUsage, StockAfter, StubMove, What};

use super::aside::Aside;
use super::book;
use super::books::Books;
use super::names::{Names, Torch};
use crate::service::site_rules;
use crate::store::entity::{entries, parts, sites};
use crate::store::stubs::Group;

/// `T1: 75 min, 3 grinds. WLa20-2.4: 7 left.`
pub(super) fn usage(
    usage: &NewUsage,
    what: Option<What>,
    torch: Option<Torch<'_>>,
    stock: &[StockAfter],
) -> String {
    let qty = usage.qty.unwrap_or(1);
    let grinds = usage.grinds.or((what == Some(What::Ground)).then_some(qty));
    let mut done = Vec::new();
    let mut note = |number: Option<i64>, one: &str, many: &str| {
        if let Some(number) = number.filter(|number| *number > 0) {
            done.push(format!("{number} {}", if number == 1 { one } else { many }));
        }
    };
    note(usage.arc_minutes, "min", "min");
    note(grinds, "grind", "grinds");
    note(usage.cut_backs, "cut-back", "cut-backs");
    note(usage.starts, "start", "starts");
    if let (Some(what), Some(part)) = (what.and_then(verb), stock.first()) {
        done.push(format!("{what} {qty} {}", part.part));
    }
    let who = torch.map_or_else(String::new, |torch| format!("{}: ", torch.row.code));
    let fitted = torch.is_none_or(|torch| !torch.fitted.is_empty());
    let unfitted = if fitted {
        ""
    } else {
        " Nothing is fitted in it, so this wears no part: fit a set-up."
    };
    if done.is_empty() {
        // Only a clock was read.
        return format!("{}{unfitted}", left(stock)).trim_start().to_owned();
    }
    format!("{who}{}.{}{unfitted}", done.join(", "), left(stock))
}

fn verb(what: What) -> Option<&'static str> {
    match what {
        What::Ground | What::Stub => None,
        What::Took => Some("took"),
        What::PutBack => Some("put back"),
        What::Broke => Some("broke"),
        What::Lost => Some("lost"),
    }
}

/// An entry on record in a few words: `took, 75 min, 3 grinds`.
pub(super) fn entry(entry: &entries::Model) -> String {
    let mut told = vec![entry.what.clone().unwrap_or_else(|| entry.kind.clone())];
    let numbers = [
        (entry.arc_seconds / 60, "min", "min"),
        (entry.grinds, "grind", "grinds"),
        (entry.cut_backs, "cut-back", "cut-backs"),
        (entry.starts, "start", "starts"),
    ];
    for (number, one, many) in numbers.into_iter().filter(|(number, ..)| *number != 0) {
        told.push(format!("{number} {}", if number == 1 { one } else { many }));
    }
    told.join(", ")
}

/// What is left, or that the book cannot be right.
pub(super) fn left(stock: &[StockAfter]) -> String {
    let told = stock.iter().map(|part| {
        if part.on_hand < 0 {
            let missing = "impossible, a receipt or a count is missing: count it";
            format!(" {}: {} by the book, {missing}.", part.part, part.on_hand)
        } else {
            format!(" {}: {} left.", part.part, part.on_hand)
        }
    });
    told.collect()
}

/// `Scrapped 1 collet-2.4. collet-2.4: 4 left.`
pub(super) fn movement(kind: MovementKind, quantity: i64, stock: &StockAfter) -> String {
    let done = match kind {
        MovementKind::Receipt => "Received",
        MovementKind::Issue => "Issued",
        MovementKind::Return => "Put back",
        MovementKind::Scrap => "Scrapped",
        MovementKind::Adjustment => "Adjusted by",
        MovementKind::Hold => "Put on hold",
        MovementKind::Release => "Released",
        MovementKind::Transfer => "Moved",
        MovementKind::SupplierReturn => "Returned to supplier:",
        MovementKind::UnloggedUse => "Unlogged use of",
        MovementKind::Allocation => "Allocated",
    };
    let available = if matches!(kind, MovementKind::Hold | MovementKind::Release) {
        format!(" {} available.", stock.available)
    } else {
        String::new()
    };
    format!(
        "{done} {quantity} {}.{}{available}",
        stock.part,
        left(std::slice::from_ref(stock))
    )
}

/// Goods that came in. Those that the site bars are held, with the way out and what to use instead:
/// the permitted electrode of the same diameter of which most is available there.
pub(super) fn receipt(
    quantity: i64,
    (part, site): (&parts::Model, &sites::Model),
    names: &Names,
    books: &Books,
) -> String {
    let verdict = site_rules::of_part(site, part);
    let Some(because) = site_rules::held_because(site, verdict) else {
        return movement(MovementKind::Receipt, quantity, &books.after(part, site));
    };
    let available = |other: &parts::Model| {
        let level = book::level(&books.book((other.id, site.id)), other, site);
        level.usable()
    };
    let instead = names
        .instead(part, site)
        .map(|other| (available(other), other))
        .filter(|(available, _)| *available > 0)
        .reduce(|best, other| if other.0 > best.0 { other } else { best });
    let instead = instead.map_or_else(String::new, |(available, other)| {
        format!(" Use instead: {}, {available} available.", other.code)
    });
    format!(
        "{quantity} {} held: {because}. Return to supplier or move to a site that permits it.{instead}",
        part.code
    )
}

/// `Moved 5 WTh20-2.4 from shop to yard. WTh20-2.4: 2 left at shop, 5 at yard.`
pub(super) fn transfer(quantity: i64, [from, to]: &[StockAfter; 2]) -> String {
    let (part, of, at) = (&from.part, place(from), place(to));
    format!(
        "Moved {quantity} {part} from {of} to {at}. {part}: {} left at {of}, {} at {at}.",
        from.on_hand, to.on_hand
    )
}

fn place(stock: &StockAfter) -> &str {
    stock.site.as_deref().unwrap_or_default()
}

/// `WLa20 2.4 mm, 48 mm, lot L-2231`
pub(super) fn stub_name(group: &Group) -> String {
    let diameter = Diameter::from_um(group.diameter_um);
    let diameter = diameter.map_or_else(String::new, |diameter| format!(" {diameter}"));
    let length = group.length_um.and_then(|um| RodLength::from_um(um).ok());
    let length = length.map_or_else(String::new, |length| format!(", {length}"));
    let lot = group.lot.as_deref();
    let lot = lot.map_or_else(String::new, |lot| format!(", lot {lot}"));
    format!("{}{diameter}{length}{lot}", group.class)
}

fn stubs(quantity: i64, group: &Group) -> String {
    let noun = if quantity == 1 { "stub" } else { "stubs" };
    format!("{quantity} {noun} of {}", stub_name(group))
}

/// `T1: 1 stub of WLa20 2.4 mm, 48 mm, into the jar.`
pub(super) fn stubbed(group: &Group, torch: Option<Torch<'_>>) -> String {
    let who = torch.map_or_else(String::new, |torch| format!("{}: ", torch.row.code));
    format!("{who}{}, into the jar.", stubs(group.quantity, group))
}

/// What was done with stubs of the jar.
pub(super) fn stubs_moved(what: StubMove, quantity: i64, group: &Group) -> String {
    let stubs = stubs(quantity, group);
    match what {
        StubMove::Add => format!("{stubs}, into the jar."),
        StubMove::Take => format!("{stubs}, taken from the jar."),
        StubMove::Scrap => format!("{stubs}, scrapped."),
    }
}

/// How many of them are in the jar now, and whether they may be used.
pub(super) fn in_jar(group: &Group, site: &sites::Model) -> String {
    let because = site_rules::held_because(site, site_rules::of_class(site, &group.class));
    let held = because.map_or_else(String::new, |because| format!(" Held: {because}."));
    format!(" {} of them in the jar.{held}", group.quantity)
}

/// What is asked about an entry that was recorded: ` Possible double entry ... Answer question 7.`
pub(super) fn asked(questions: &[(i64, String)]) -> String {
    let told = questions
        .iter()
        .map(|(number, says)| format!(" {says} Answer question {number}."));
    told.collect()
}

/// An entry that was kept aside, in a few words.
pub(super) fn kept(aside: &Aside, part: Option<&str>) -> String {
    let part = part.unwrap_or_default();
    match aside {
        Aside::Usage(new) => {
            let what = new.what.as_deref().and_then(What::parse);
            let qty = new.qty.unwrap_or(1);
            let done = match what.and_then(verb) {
                Some(verb) => format!("{verb} {qty} {part}"),
                None => "use".to_owned(),
            };
            let torch = new.torch.as_ref();
            torch.map_or(done.clone(), |torch| {
                format!("{torch}: {}", done.trim_end())
            })
        }
        Aside::Movement(new) => format!("{} {} {part}", new.kind, new.quantity),
        Aside::Receipt(new) => format!("receipt of {} {part}", new.quantity),
        Aside::Count(new) => format!("count of {} {part}", new.counted),
        Aside::Transfer(new) => format!(
            "transfer of {} {part} from {} to {}",
            new.quantity, new.from, new.to
        ),
        Aside::Stubs(new) => {
            let what = new.what.as_deref().unwrap_or(StubMove::Add.as_str());
            let quantity = new.quantity.unwrap_or(1);
            format!("{what} {quantity} stubs of {} {}", new.class, new.diameter)
        }
    }
}

/// A day, as people write it: `4 May`, with the year where the day alone would not do.
pub(super) fn day(at: &DateTime<FixedOffset>) -> String {
    at.format("%-d %b %Y").to_string()
}

/// A day and time of day, by the clock where it was told.
pub(super) fn dated(at: &DateTime<FixedOffset>) -> String {
    at.format("%-d %b %Y %H:%M").to_string()
}

/// `collet-2.4: 7 counted on 6 Jul 2026, 1 fewer than the book's 8. Used and not logged, or a booking
/// error?`
pub(super) fn variance(
    part: &str,
    (counted, book): (i64, i64),
    at: &DateTime<FixedOffset>,
) -> String {
    let day = day(at);
    let amount = counted - book;
    let than = if amount < 0 { "fewer" } else { "more" };
    let (by, asks) = (amount.abs(), variance_asks(amount));
    format!("{part}: {counted} counted on {day}, {by} {than} than the book's {book}. {asks}")
}

/// What is asked about a variance.
pub(super) fn variance_asks(amount: i64) -> &'static str {
    if amount < 0 {
        "Used and not logged, or a booking error?"
    } else {
        "A booking error?"
    }
}
