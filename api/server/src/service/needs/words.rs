//! The answer in plain words: what, number, reason, next action, by when.

use domain::part::Unit;
use domain::quantity::{Currency, Money};
use domain::wear::Rung;
use types::{NeedLine, Needs, ProposedOrder};

use super::Weighed;
use super::buying::Bought;
use super::order_words::{cannot_arrive, each_alone, gap, lasts, next_purchase, order_line};
use super::work::{Kind, Work};
use crate::service::learned::percent;

/// An amount as people write it.
pub(in crate::service) fn money(minor: i64, currency: &str) -> String {
    let told = Currency::parse(currency).and_then(|currency| Money::new(minor, currency));
    told.map_or_else(|_| format!("{minor} {currency}"), |money| money.to_string())
}

pub(super) fn packs(packs: i64, size: i64, (part, unit): (&str, Unit)) -> String {
    let held = unit.amount(size);
    match (packs, size) {
        (1, 1) => format!("1 {part}"),
        (_, 1) => format!("{packs} single {part}"),
        (1, _) => format!("1 pack of {held} {part}"),
        _ => format!("{packs} packs of {held} {part}"),
    }
}

pub(super) fn tenths(chance: f64) -> String {
    let told = format!("{:.1} %", chance * 100.0);
    if told == "100.0 %" && chance < 1.0 {
        "over 99.9 %".to_owned()
    } else {
        told
    }
}

/// Why a line is as it is, and what to do.
pub(super) fn why(part: &Weighed) -> String {
    let learned = part.learned.says();
    if let Some(because) = &part.held_because {
        return format!("{learned} It is {because}, so none of it counts and none is bought.");
    }
    if part.short == 0 && part.bought.is_empty() {
        return format!("{learned} Enough.");
    }
    if part.short == 0 {
        let action = action(part);
        return format!(
            "{learned} Enough by itself; more of it brings all together to the target.{action}"
        );
    }
    format!(
        "{learned} {} short.{}",
        part.unit.about(part.short),
        action(part)
    )
}

/// What to do about what is short.
fn action(part: &Weighed) -> String {
    let bought: String = part
        .bought
        .iter()
        .map(|bought| bought_for(bought, of(part)))
        .collect();
    match (&part.bought[..], &part.alternative) {
        ([], _) if part.on_order.late > 0 => " What is on order comes too late.".to_owned(),
        ([], _) => {
            " Nobody offers it: add an offer of a supplier, or find it elsewhere.".to_owned()
        }
        ([_], Some(other)) => format!(
            "{bought} {} would be {}.",
            capital(&from(other, of(part))),
            alone(other)
        ),
        _ => bought,
    }
}

/// A part and what it is counted in.
fn of(part: &Weighed) -> (&str, Unit) {
    (&part.part.code, part.unit)
}

/// What a line is counted in.
pub(super) fn unit(line: &NeedLine) -> Unit {
    Unit::parse(&line.unit).unwrap_or(Unit::Piece)
}

fn from(bought: &Bought, part: (&str, Unit)) -> String {
    format!(
        "{} from {}",
        packs(bought.packs, bought.pack_size, part),
        bought.from
    )
}

fn alone(bought: &Bought) -> String {
    let freight = if bought.alone_minor > bought.goods_minor {
        " with freight"
    } else {
        ""
    };
    format!("{}{freight}", money(bought.alone_minor, &bought.currency))
}

fn bought_for(bought: &Bought, part: (&str, Unit)) -> String {
    let late = if bought.in_time {
        ""
    } else {
        " It comes too late for the start."
    };
    format!(" Buy {}: {}.{late}", from(bought, part), alone(bought))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The whole answer.
pub(super) fn says(needs: &Needs, kind: Kind) -> Vec<String> {
    let mut says = vec![headline(needs, kind)];
    says.extend(needs.under_way.iter().map(|done| done.says.clone()));
    says.extend(
        needs
            .cannot_tell
            .iter()
            .map(|part| format!("Cannot tell for {}: {}.", part.part, part.why)),
    );
    let (now, later): (Vec<&ProposedOrder>, Vec<&ProposedOrder>) =
        needs.orders.iter().partition(|order| order.in_time);
    says.extend(now.iter().map(|order| order_line(order, needs)));
    says.extend(each_alone(needs));
    says.extend(gap(needs));
    says.extend(
        needs
            .lines
            .iter()
            .filter_map(|line| cannot_arrive(line, needs)),
    );
    says.extend(later.iter().map(|order| order_line(order, needs)));
    says.extend(once_here(needs));
    says.extend(needs.lines.iter().filter_map(lasts));
    let nobody = needs
        .lines
        .iter()
        .filter(|line| line.short > 0 && line.order.is_none() && line.late_arrives.is_none())
        .filter(|line| line.held_because.is_none());
    says.extend(
        needs
            .lines
            .iter()
            .filter_map(|line| not_permitted(line, needs)),
    );
    says.extend(needs.lines.iter().filter_map(|line| late(line, needs)));
    says.extend(nobody.map(|line| {
        format!(
            "{} {} short and nobody offers it. Next: add an offer of a supplier.",
            unit(line).about(line.short),
            line.part
        )
    }));
    says.extend(
        needs
            .lines
            .iter()
            .filter(|line| line.order.is_some())
            .map(left),
    );
    if let Some(best) = &needs.next_best {
        let (before, after) = (tenths(needs.chance_after), tenths(best.chance));
        // A gain that cannot be seen in the figures is none to speak of.
        if before != after {
            says.push(format!(
                "Largest gain from one more piece: {} takes {before} to {after}.",
                best.part
            ));
        }
    }
    says.extend(next_purchase(needs));
    says
}

/// What the order of a job under way is worth, which nothing of it reaches today.
fn once_here(needs: &Needs) -> Option<String> {
    let once_here = needs.under_way.as_ref()?.chance_once_here?;
    Some(format!(
        "If what is there lasts until the order comes, the chance for all that is to come is {}.",
        percent(once_here)
    ))
}

/// What the site of the job, or its procedure, does not permit, and the way out.
fn not_permitted(line: &NeedLine, needs: &Needs) -> Option<String> {
    let (part, because) = (&line.part, line.held_because.as_ref()?);
    let own = needs.procedure.as_ref();
    // The reason names the procedure, where it is not the site that bars the part.
    let by_procedure = own.filter(|own| because.contains(&*own.procedure));
    let next = by_procedure.map_or_else(
        || "plan the job with a permitted class, or at a site that permits it".to_owned(),
        |own| {
            let (procedure, next) = (&own.procedure, own.newest_revision + 1);
            format!("plan the job with a permitted part, or have {procedure} revised (rev {next})")
        },
    );
    Some(format!("{part} is {because}. Next: {next}."))
}

/// What to do about what comes too late. Under a procedure nothing else is looked for: what it leaves
/// is told with it.
pub(super) fn too_late(needs: &Needs) -> &'static str {
    if needs.procedure.is_some() {
        ""
    } else if needs.under_way.is_some() {
        " Next: borrow it, or find it elsewhere."
    } else {
        " Next: move the start, or find it elsewhere."
    }
}

/// What is on order and comes too late.
fn late(line: &NeedLine, needs: &Needs) -> Option<String> {
    let arrives = line.late_arrives?.format("%a %-d %b");
    let next = if line.short > 0 && line.order.is_none() {
        too_late(needs)
    } else {
        ""
    };
    Some(format!(
        "{} {} on order come too late, {arrives} at the earliest.{next}",
        unit(line).amount(line.on_order_late),
        line.part
    ))
}

fn headline(needs: &Needs, kind: Kind) -> String {
    let chance_of = kind.chance_of(needs.under_way.is_some());
    let pooled = if needs.lines.iter().any(|line| !line.pooled.is_empty()) {
        " with what may be used instead"
    } else {
        ""
    };
    let now = format!("{}{pooled}", percent(needs.chance_now));
    let target = percent(needs.target);
    let without = if needs.cannot_tell.is_empty() {
        ""
    } else {
        " (without the parts below that cannot be told)"
    };
    if !needs.orders.iter().any(|order| order.in_time) {
        let coming = if needs.lines.iter().any(|line| line.on_order > 0) {
            format!(
                " now, {} with what is on order",
                percent(needs.chance_after)
            )
        } else {
            String::new()
        };
        let verdict = if needs.chance_after >= needs.target {
            "no order is needed"
        } else if needs.lines.iter().any(|line| line.held_because.is_some()) {
            "a part is not permitted here"
        } else if needs.lines.iter().any(|line| line.short > 0) {
            "nothing that is offered comes in time"
        } else {
            "each part alone has enough, all together fall short of the target"
        };
        return format!("{chance_of}: {now}{coming}{without}; {verdict} (target {target}).");
    }
    let after = percent(needs.chance_after);
    let missed = if needs.chance_after >= needs.target {
        String::new()
    } else {
        format!(" That is under the target of {target}.")
    };
    format!("{chance_of}: {now} now, {after} after this order{without}.{missed}")
}

fn left(line: &NeedLine) -> String {
    let used = line.expected.round();
    let used = if used < 1e9 {
        format!("{used:.0}").parse().unwrap_or(0)
    } else {
        line.after
    };
    let expected = (line.after - used).max(0);
    format!(
        "Expect {} {} left ({} to {}).",
        unit(line).about(expected),
        line.part,
        unit(line).about(line.left_low),
        unit(line).about(line.left_high)
    )
}

/// A spread to hold independence against, an example of our own: a clumsy course.
pub(super) const CLUMSY: f64 = 0.3;

/// What is taken of parts that are wrecked together.
pub(super) struct Together<'a> {
    pub(super) work: &'a Work,
    /// The chances now and after the order, were the spread [`CLUMSY`].
    pub(super) spread: (f64, f64),
}

/// What the chance takes for granted.
pub(super) fn assumes(needs: &Needs, together: &Together<'_>) -> Vec<String> {
    let work = together.work;
    let mut assumes = vec![together.says(needs)];
    if needs.lines.iter().any(|line| line.on_order > 0) {
        assumes.push(
            "What is on order is taken to come after the supplier's usual lead time.".to_owned(),
        );
    }
    if !needs.orders.is_empty() {
        assumes.push(
            "Suppliers are taken to be open Monday to Friday, but for the closures entered with them."
                .to_owned(),
        );
    }
    let unknown = needs.lines.iter().filter(|line| {
        line.rung.number == Rung::Assumption.number() && line.unit == Unit::Piece.as_str()
    });
    let unknown: Vec<&str> = unknown.map(|line| line.part.as_str()).collect();
    if !unknown.is_empty() {
        assumes.push(format!(
            "On a starting assumption alone, since nothing of yours is on record for such work: {}. Put your own \
             assumption into the part where you know better.",
            unknown.join(", ")
        ));
    }
    if !needs.left_out.is_empty() {
        assumes.push(format!(
            "Left out of the chance by the {}: {}.",
            work.kind.noun(),
            needs.left_out.join(", ")
        ));
    }
    assumes
}

impl Together<'_> {
    fn says(&self, needs: &Needs) -> String {
        let spread = self.work.shared.spread() * 100.0;
        match (self.work.kind, self.work.shared.is_none()) {
            (Kind::Job, true) => format!(
                "Parts are taken to wear independently; one clumsy day wrecks several together, {}.",
                self.hopeful(needs, "spread")
            ),
            (Kind::Course, true) => format!(
                "Students break parts together, and here the parts are taken to wear independently, {}. Next: give \
                 the course a clumsiness, such as {CLUMSY}.",
                self.hopeful(needs, "clumsiness")
            ),
            (Kind::Job, false) => format!(
                "All parts share the hours of the job, taken to be right within {spread:.0} %."
            ),
            (Kind::Course, false) => format!(
                "Students break parts together: all parts share how clumsy the course is, taken to differ by \
                 {spread:.0} % from course to course."
            ),
        }
    }

    /// Which way independence errs: it makes a high chance too high, and a low one too low, since a
    /// gentle day spares several parts together as well.
    fn hopeful(&self, needs: &Needs, noun: &str) -> String {
        let told = |chance: f64, spread: f64, when: &str| {
            let higher = chance >= spread;
            let (chance, spread) = (percent(chance), percent(spread));
            let way = match (chance == spread, higher) {
                (true, _) => "near enough",
                (false, true) => "a little hopeful",
                (false, false) => "too low",
            };
            (
                way,
                format!("{chance}{when} is {way} (a {noun} of {CLUMSY} makes it {spread})"),
            )
        };
        let (way_now, now) = told(needs.chance_now, self.spread.0, " now");
        let (way, after) = told(needs.chance_after, self.spread.1, "");
        if way_now == way {
            format!("so {after}")
        } else {
            format!("so {after}, and {now}")
        }
    }
}
