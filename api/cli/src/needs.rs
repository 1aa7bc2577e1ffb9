//! What a job needs, as people read it: the table, the chance, the order, and by when. With which
//! exit code `plan` ends is decided here too.

use domain::part::Unit;
use types::{NeedLine, NeedOrder, Needs};

use crate::failure::exit;
use crate::output::Output;
use crate::sheet::{Cell, Sheet, target};

/// Prints the answer.
pub(crate) fn show(needs: &Needs, output: &mut Output<'_>) {
    output.show(needs, &sheet(needs));
    say(needs, output);
}

/// Prints the answer in words, with what it takes for granted and its cautions.
pub(crate) fn say(needs: &Needs, output: &mut Output<'_>) {
    output.gap();
    for sentence in &needs.says {
        output.say(sentence);
    }
    if !needs.assumes.is_empty() {
        output.gap();
    }
    for assumption in &needs.assumes {
        output.say(assumption);
    }
    for caution in &needs.cautions {
        output.caution(caution);
    }
}

/// 0 all enough, 1 something to order, 2 blocked, 3 could not tell.
pub(crate) fn exit_code(needs: &Needs) -> u8 {
    if needs.lines.is_empty() || !needs.cannot_tell.is_empty() {
        return exit::UNKNOWN;
    }
    // What the procedure permits in the place of a part keeps the job going.
    let allowed = needs
        .procedure
        .iter()
        .flat_map(|procedure| &procedure.allowed);
    let covering: Vec<&str> = allowed
        .filter(|other| other.covers)
        .map(|other| other.instead_of.as_str())
        .collect();
    let is_open = |part: &str| !covering.contains(&part);
    let nobody_offers = needs
        .lines
        .iter()
        .any(|line| line.short > 0 && line.order.is_none() && is_open(&line.part));
    let not_permitted = needs.lines.iter().any(|line| line.held_because.is_some());
    let late = needs.orders.iter().filter(|order| !order.in_time);
    let too_late = late
        .flat_map(|order| &order.parts)
        .any(|part| is_open(part));
    if nobody_offers || not_permitted || too_late || !needs.lent.is_empty() {
        exit::BLOCKED
    } else if needs.orders.is_empty() && needs.target_met {
        exit::DONE
    } else {
        exit::TO_ORDER
    }
}

/// The needs as a sheet, one row a part.
fn sheet(needs: &Needs) -> Sheet {
    let need = format!("Need at {}", target(needs.target));
    let mut sheet = Sheet::new([
        ("job", ""),
        ("part", ""),
        ("name", "Part"),
        ("expected", "Expected use"),
        ("need", &need),
        ("available", "Available"),
        ("on_order", ""),
        ("short", "Short"),
        ("supplier", ""),
        ("packs", "Order"),
        ("pack_size", ""),
        ("cost_minor", ""),
        ("currency", ""),
        ("after", "After"),
        ("chance_now", ""),
        ("chance_after", ""),
        ("rung", ""),
        ("own_share", ""),
        ("as_of", ""),
    ]);
    for line in &needs.lines {
        sheet.push(row(needs, line));
    }
    sheet
}

fn row(needs: &Needs, line: &NeedLine) -> [Cell; 19] {
    let order = line.order.as_ref();
    [
        Cell::from(&needs.job),
        Cell::from(&line.part),
        Cell::from(&line.name),
        expected(line),
        amount(line, line.need),
        amount(line, line.available),
        amount(line, line.on_order),
        amount(line, line.short),
        order.map_or(Cell::Nothing, |order| Cell::from(&order.supplier)),
        ordered(line),
        Cell::from(order.map(|order| order.pack_size)),
        Cell::from(cost(line)),
        order.map_or(Cell::Nothing, |order| Cell::from(&order.currency)),
        amount(line, line.after),
        Cell::chance(line.chance_now),
        Cell::chance(line.chance_after),
        Cell::Whole(i64::from(line.rung.number)),
        Cell::chance(line.own_share),
        Cell::Text(needs.as_of.to_rfc3339()),
    ]
}

/// What a line is counted in.
pub(crate) fn unit(line: &NeedLine) -> Unit {
    Unit::parse(&line.unit).unwrap_or(Unit::Piece)
}

/// An amount of a line: pieces as they are, gas and filler as people write them.
pub(crate) fn amount(line: &NeedLine, amount: i64) -> Cell {
    match unit(line) {
        Unit::Piece => Cell::Whole(amount),
        unit @ (Unit::Millilitre | Unit::Gram) => Cell::Shown {
            value: amount.to_string(),
            shown: unit.about(amount),
        },
    }
}

/// The mean use of a line.
pub(crate) fn expected(line: &NeedLine) -> Cell {
    let whole = format!("{:.0}", line.expected).parse();
    match (unit(line), whole) {
        (unit @ (Unit::Millilitre | Unit::Gram), Ok(whole)) => Cell::Real {
            value: line.expected,
            shown: unit.about(whole),
        },
        _ => Cell::mean(line.expected),
    }
}

/// What is ordered of a line: how many packs, and of how many.
pub(crate) fn ordered(line: &NeedLine) -> Cell {
    let Some(first) = &line.order else {
        return Cell::Nothing;
    };
    let orders = || std::iter::once(first).chain(&line.more);
    let shown: Vec<String> = orders().map(|order| packs(order, unit(line))).collect();
    Cell::Shown {
        value: first.packs.to_string(),
        shown: shown.join(" + "),
    }
}

fn packs(order: &NeedOrder, unit: Unit) -> String {
    let NeedOrder {
        packs, pack_size, ..
    } = order;
    let noun = if *packs == 1 { "pack" } else { "packs" };
    match pack_size {
        1 => packs.to_string(),
        size => format!("{packs} {noun} of {}", unit.amount(*size)),
    }
}

/// What all packs of a line cost, in minor units.
pub(crate) fn cost(line: &NeedLine) -> Option<i64> {
    let first = line.order.as_ref()?;
    let more: i64 = line.more.iter().map(|order| order.cost_minor).sum();
    Some(first.cost_minor + more)
}

#[cfg(test)]
mod tests;
