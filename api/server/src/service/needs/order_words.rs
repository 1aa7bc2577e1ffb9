//! The words for what is ordered, for what comes too late, and for what the order is held against.

use domain::part::Unit;
use types::{NeedLine, Needs, ProposedOrder, TooLate};

use super::buying::Proposal;
use super::words::{money, packs, tenths, too_late, unit};
use crate::service::learned::{percent, short};

/// What to order of one supplier, by when; or that it is for later.
pub(super) fn order_line(order: &ProposedOrder, needs: &Needs) -> String {
    let goods: Vec<String> = order
        .lines
        .iter()
        .map(|bought| {
            let line = needs.lines.iter().find(|line| line.part == bought.part);
            let unit = line.map_or(Unit::Piece, unit);
            packs(bought.packs, bought.pack_size, (&bought.part, unit))
        })
        .collect();
    let cost = money(order.cost_minor, &order.currency);
    let (goods, supplier) = (goods.join(", "), &order.supplier);
    let arrives = order.arrives.format("%a %-d %b");
    if !order.in_time {
        return format!(
            "Still order {goods} from {supplier} for later, {cost}: it comes {arrives}."
        );
    }
    let by = order.order_by.format("%a %-d %b %H:%M");
    let learned = order.lead_time_says.as_ref();
    let learned = learned.map_or_else(String::new, |says| format!(" {says}"));
    format!(
        "Next: order {goods} from {supplier}, {cost}, by {by}. Ordered now it comes {arrives}.{learned}"
    )
}

/// What cannot come in time, when it would, and how far what there is lasts.
pub(super) fn cannot_arrive(line: &NeedLine, needs: &Needs) -> Option<String> {
    let late = line.late.as_ref()?;
    let mut earliest = Vec::new();
    let now = needs.under_way.is_some();
    for (place, arrival) in late.earliest.iter().enumerate() {
        let day = arrival.arrives.format("%a %-d %b");
        let after = (arrival.arrives - needs.start).num_days();
        let after = match (place, after) {
            _ if now => String::new(),
            (0, 0) => " (on the day of the start)".to_owned(),
            (0, 1) => " (1 day after the start)".to_owned(),
            (0, days) => format!(" ({days} days after the start)"),
            _ => String::new(),
        };
        earliest.push(format!("{} {day}{after}", arrival.supplier));
    }
    let last = late.last_order_by.map_or_else(
        || "No order would have worked".to_owned(),
        |last| {
            let last = last.format("%a %-d %b %H:%M");
            format!("The last order time that would have worked was {last}")
        },
    );
    if now {
        return Some(format!(
            "Not here today: {}. Earliest if it is ordered now: {}.",
            line.part,
            earliest.join("; ")
        ));
    }
    Some(format!(
        "Cannot arrive in time: {}. Earliest: {}. {last}.{}",
        line.part,
        earliest.join("; "),
        too_late(needs)
    ))
}

/// `On 2 alone the chance of lasting to Thursday morning (12 arc hours) is 76 %, to Thursday evening (16
/// arc hours; the parcel comes during Thursday) 62 %.`
pub(super) fn lasts(line: &NeedLine) -> Option<String> {
    let TooLate {
        earliest, lasts, ..
    } = line.late.as_ref()?;
    let [morning, evening] = &lasts[..] else {
        return None;
    };
    let day = earliest.first()?.arrives.format("%A");
    let hours = |minutes: i64| {
        let minutes = u32::try_from(minutes).unwrap_or(u32::MAX);
        short(f64::from(minutes) / 60.0)
    };
    Some(format!(
        "On {} {} alone the chance of lasting to {} ({} arc hours) is {}, to {} ({} arc hours; the parcel comes \
         during {day}) {}.",
        unit(line).about(line.available),
        line.part,
        morning.until,
        hours(morning.arc_minutes),
        percent(morning.chance),
        evening.until,
        hours(evening.arc_minutes),
        percent(evening.chance),
    ))
}

/// What else could be bought, and what that gains; nothing where it cannot be seen in the figures.
pub(super) fn next_purchase(needs: &Needs) -> Option<String> {
    let next = needs.next_purchase.as_ref()?;
    let (before, after) = (tenths(needs.chance_after), tenths(next.chance));
    if before == after {
        return None;
    }
    let line = needs.lines.iter().find(|line| line.part == next.part);
    let of = (&*next.part, line.map_or(Unit::Piece, unit));
    let goods = packs(next.packs, next.pack_size, of);
    let cost = if next.cost_minor > 0 {
        let more = if needs.orders.is_empty() { "" } else { " more" };
        format!(
            "{}{more}, freight counted",
            money(next.cost_minor, &next.currency)
        )
    } else {
        let less = money(-next.cost_minor, &next.currency);
        format!("with which all together costs {less} less")
    };
    Some(format!(
        "Next best purchase: {goods} from {}, {cost}; ordered now it comes {}. It takes {before} to {after}.",
        next.supplier,
        next.arrives.format("%a %-d %b"),
    ))
}

/// What every part alone at the target costs, where the whole asks for more.
pub(super) fn each_alone(needs: &Needs) -> Option<String> {
    let each = needs.each_alone.as_ref()?;
    let whole = needs.cost_minor.filter(|cost| *cost != each.cost_minor)?;
    Some(format!(
        "Order {} for every part alone at {}, which makes {} for all together; the order above is {}, chance {}.",
        money(each.cost_minor, &each.currency),
        percent(needs.target),
        tenths(each.chance),
        money(whole, &each.currency),
        tenths(needs.chance_after)
    ))
}

/// How far the order is from the cheapest, where that is not proven.
pub(super) fn gap(needs: &Needs) -> Option<String> {
    let currency = needs.currency.as_ref().filter(|_| needs.gap_minor > 0)?;
    let gap = money(needs.gap_minor, currency);
    Some(format!(
        "An order that reaches the target might be cheaper, but by no more than {gap}."
    ))
}

/// What is taken for granted of the offers.
pub(super) fn offers(needs: &Needs, proposal: &Proposal) -> Vec<String> {
    let mut assumes = Vec::new();
    if let (Some(currency), false) = (&needs.currency, proposal.other_currencies.is_empty()) {
        let others = proposal.other_currencies.join(" and ");
        assumes.push(format!(
            "Prices in {currency} and {others} cannot be weighed against each other: offers in {others} count \
             only for what nobody else offers in time."
        ));
    }
    assumes
}
