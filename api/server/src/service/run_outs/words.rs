//! Why a part ran out, in plain words, and what to do.

use chrono::{DateTime, NaiveDate, Utc};
use domain::run_out_blame::Cause;
use types::{PastRunOut, RunOutCause};

use super::Part;
use crate::service::learned::{percent, short};
use crate::service::parts;

/// A second cause is told from this share on.
const TOLD: f64 = 0.2;

/// A day as people write it.
fn on(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// A cause in plain words.
pub(super) fn cause(cause: Cause, told: &PastRunOut, part: &Part) -> String {
    let day = |at: DateTime<Utc>| on(part.day(at));
    let unit = parts::spec(&part.row).map(|spec| spec.kind().unit());
    let amount = |number: i64| {
        unit.as_ref()
            .map_or_else(|_| number.to_string(), |it| it.amount(number))
    };
    let (since, until) = (day(told.low_since), day(told.from));
    match cause {
        Cause::UnloggedUse => format!(
            "{} used without being logged, by the count",
            amount(told.unlogged)
        ),
        Cause::LateDelivery => {
            let orders = told.late.iter().map(|it| {
                let came = it.came.map_or_else(
                    || "have not come".to_owned(),
                    |came| format!("came {}", on(came)),
                );
                format!(
                    "{} of order {} from {} were due {} and {came}",
                    amount(it.pieces),
                    it.order,
                    it.supplier,
                    on(it.due)
                )
            });
            orders.collect::<Vec<_>>().join("; ")
        }
        Cause::Forecast => format!(
            "{} logged from {since} to {until} where {} were expected",
            amount(told.logged),
            short(told.expected.unwrap_or_default())
        ),
        Cause::NotOrdered => {
            let point = told.order_point.unwrap_or_default();
            format!(
                "its order point of {} was reached {since}, and an order that would have brought {} in time \
                 was not placed",
                amount(point),
                amount(told.not_ordered)
            )
        }
        Cause::Rest if told.unexplained > 0 => format!(
            "a count found {} fewer than the book, and they are not booked as used",
            amount(told.unexplained)
        ),
        Cause::Rest if told.expected.is_none() => {
            "nothing was on record to expect use from".to_owned()
        }
        Cause::Rest => {
            "use was as expected and nothing was late: an order point leaves a chance to \
                        run out"
                .to_owned()
        }
    }
}

/// What to do about a cause.
fn next(cause: &RunOutCause, told: &PastRunOut) -> String {
    let is = |of: Cause| cause.cause == of.as_str();
    if is(Cause::UnloggedUse) {
        return "log each one as it is taken, or count it every week".to_owned();
    }
    if is(Cause::LateDelivery) {
        let from = told.late.first().map_or("", |it| it.supplier.as_str());
        return format!(
            "order earlier of {from}, whose lead time is learned from this, or of another"
        );
    }
    if is(Cause::Forecast) {
        return "enter jobs before they begin, so that they are expected".to_owned();
    }
    if is(Cause::NotOrdered) {
        return "order when it reaches its order point".to_owned();
    }
    if told.unexplained > 0 {
        return "answer what the count asks, see tigstock questions".to_owned();
    }
    if told.expected.is_none() {
        return "log its use, so that there is something to go by".to_owned();
    }
    "keep more of it, if that happens too often".to_owned()
}

/// Why it ran out, the whole of it, and what to do about the largest cause.
pub(super) fn run_out(told: &PastRunOut, part: &Part) -> String {
    let found = if told.found == "count" {
        format!("a count found none, the book said {}", told.book)
    } else {
        "the last one was taken".to_owned()
    };
    let back = told.until.map_or_else(
        || "There is none yet.".to_owned(),
        |until| format!("There was some again {}.", on(part.day(until))),
    );
    let day = on(part.day(told.from));
    let large: Vec<&RunOutCause> = told.causes.iter().filter(|it| it.share >= TOLD).collect();
    let why = match &large[..] {
        [only] => format!("Why: {}.", only.says),
        several => {
            let each = several
                .iter()
                .map(|it| format!("{}: {}", percent(it.share), it.says));
            let each: Vec<String> = each.collect();
            format!("Several causes. {}.", each.join("; "))
        }
    };
    let next = told.causes.first().map_or_else(String::new, |first| {
        format!(" Next: {}.", next(first, told))
    });
    format!(
        "{} ran out {day}: {found}. {back} {why}{next}",
        part.row.code
    )
}

/// All run-outs in one sentence.
pub(super) fn says(part: &str, told: &[PastRunOut], more: usize) -> String {
    let number = told.len() + more;
    let Some(newest) = told.first() else {
        return format!("{part} did not run out.");
    };
    if number == 1 {
        return newest.says.clone();
    }
    format!(
        "{part} ran out {number} times. The last time: {}",
        newest.says
    )
}

/// What the figures take for granted.
pub(super) fn assumes() -> Vec<String> {
    let assumes = [
        "Order points and what was expected are by what is known now of the time before; work that was booked \
         then and is closed by now is not in what was expected.",
        "An order counts as placed in time up to a week after stock fell to its order point.",
    ];
    assumes.map(str::to_owned).to_vec()
}
