//! What a warning says: what, number, reason, next action, by when. Nothing is called critical, and no
//! chance stands alone.

use chrono::{NaiveDate, NaiveDateTime};
use domain::quantity::{Currency, Money};
use domain::warning::Stock;

use super::source::{Coming, Market, Source};
use super::stock::{StockWatch, wanted_packs};
use super::work::{JobNeed, Purchase};

/// What there is to say of stock.
pub(super) struct Said<'s> {
    pub(super) watch: &'s StockWatch,
    pub(super) stock: &'s Stock,
    pub(super) per_week: Option<f64>,
    /// The first day by which all of it may be used up.
    pub(super) early: Option<NaiveDate>,
    pub(super) coming: Option<&'s Coming>,
    pub(super) delivery: Option<NaiveDate>,
    pub(super) source: Option<&'s Source>,
    pub(super) market: &'s Market,
    pub(super) today: NaiveDate,
}

/// The first message of an episode.
pub(super) fn low(said: &Said<'_>) -> String {
    let Said { watch, stock, .. } = said;
    let name = &watch.name;
    if stock.available <= 0 && !watch.stops.is_empty() {
        let stops = watch.stops.join(", ");
        return format!("{name}: 0. Stops {stops}. Next: {}.", next(said));
    }
    let left = watch.unit.amount(stock.available);
    let point = watch.unit.amount(stock.point.max(0));
    let told = format!("{name}: {left} left, order point {point}.");
    if let Some(job) = &watch.job {
        let start = long_day(job.start);
        let needs = watch.unit.amount(job.needs);
        let (job_code, next) = (&job.code, next_for(job, said));
        return format!("{told} {job_code} starts {start} and needs {needs}. Next: {next}.");
    }
    let why = why(said).map_or_else(String::new, |why| format!(" {why}."));
    format!("{told}{why} Next: {}.", next(said))
}

/// The second message of an episode.
pub(super) fn worse(said: &Said<'_>) -> String {
    let Said { watch, stock, .. } = said;
    let left = watch.unit.amount(stock.available.max(0));
    let before = said.delivery.map_or_else(
        || "before more is there".to_owned(),
        |day| format!("before {}", day.format("%-d %b")),
    );
    let chance = percent(stock.chance);
    format!(
        "{}: {left} left. {chance} chance of being short {before}. Next: {}.",
        watch.name,
        next(said)
    )
}

/// How fast it goes, and how long an order takes.
fn why(said: &Said<'_>) -> Option<String> {
    let rate = said.per_week.map(|per_week| {
        if per_week < 0.05 {
            "You use fewer than 0.1 a week".to_owned()
        } else {
            format!("You use about {per_week:.1} a week")
        }
    });
    let takes = said.source.map(|source| {
        format!(
            "delivery takes {}",
            span((source.arrives - said.today).num_days())
        )
    });
    match (rate, takes) {
        (Some(rate), Some(takes)) => Some(format!("{rate}; {takes}")),
        (Some(rate), None) => Some(rate),
        (None, Some(takes)) => Some(format!("Nothing of its use is on record; {takes}")),
        (None, None) => None,
    }
}

/// A number of days in words: whole weeks as weeks.
fn span(days: i64) -> String {
    match days {
        ..=0 => "no day".to_owned(),
        1 => "1 day".to_owned(),
        7 => "1 week".to_owned(),
        more if more % 7 == 0 => format!("{} weeks", more / 7),
        more => format!("{more} days"),
    }
}

/// What to do about it.
fn next(said: &Said<'_>) -> String {
    if let Some(coming) = said.coming {
        let (supplier, order) = (&coming.supplier, coming.order);
        let pieces = said.watch.unit.amount(coming.pieces);
        let due = short_day(coming.due);
        let ask = if coming.due < said.today {
            format!("ask {supplier} where order {order} is: {pieces} were due {due}")
        } else {
            format!("ask {supplier} to send order {order} sooner: {pieces} are due {due}")
        };
        return ask;
    }
    let Some(source) = said.source else {
        return format!(
            "say who sells it, or count: it is low at {} or fewer",
            said.stock.point.max(0)
        );
    };
    let supplier = &source.supplier;
    let delivery = said.market.delivery(source);
    if let Some(delivery) =
        delivery.filter(|it| source.arrives == said.today && it.takes_orders(said.market.now))
    {
        let until = delivery.cut_off().format("%H:%M");
        return format!("collect at {supplier} today before {until}");
    }
    let packs = packs(said, source);
    match order_by(said) {
        None => format!("{packs}, {supplier}"),
        Some(by) if by <= said.market.now => format!("{packs}, {supplier}, today"),
        Some(by) => format!("{packs}, {supplier}, by {}", short_day(by.date())),
    }
}

/// The last time at which an order is likely to be there before all is used up.
pub(super) fn order_by(said: &Said<'_>) -> Option<NaiveDateTime> {
    let source = said.source.filter(|_| said.coming.is_none())?;
    said.market.order_by(source, said.early?)
}

/// Whole packs until the warning is over, in words.
fn packs(said: &Said<'_>, source: &Source) -> String {
    let size = source.offer.pack_size.max(1);
    let packs = wanted_packs(said.stock, source);
    let held = said.watch.unit.amount(size);
    match (packs, size) {
        (1, 1) => "1 piece".to_owned(),
        (packs, 1) => format!("{packs} pieces"),
        (1, _) => format!("1 pack of {held}"),
        (packs, _) => format!("{packs} packs of {held}"),
    }
}

/// What to do about it for work that is booked.
fn next_for(job: &JobNeed, said: &Said<'_>) -> String {
    let Some(purchase) = &job.purchase else {
        return next(said);
    };
    format!(
        "{}, by {}",
        bought(purchase, said.watch),
        hour(purchase.order_by)
    )
}

fn bought(purchase: &Purchase, watch: &StockWatch) -> String {
    let held = watch.unit.amount(purchase.pack_size);
    let packs = match (purchase.packs, purchase.pack_size) {
        (packs, 1) => format!("{packs} single"),
        (1, _) => format!("pack of {held}"),
        (packs, _) => format!("{packs} packs of {held}"),
    };
    let cost = amount(purchase.cost_minor, &purchase.currency);
    format!("{packs}, {} {cost}", purchase.supplier)
}

/// An amount without its currency, as it stands beside the name of a supplier.
pub(super) fn amount(minor: i64, currency: &str) -> String {
    let told = Currency::parse(currency).and_then(|currency| Money::new(minor, currency));
    let told = told.map_or_else(|_| minor.to_string(), |money| money.to_string());
    told.split(' ').next().unwrap_or_default().to_owned()
}

/// A chance in whole percent; what is not certain is not called so.
pub(super) fn percent(chance: f64) -> String {
    match chance * 100.0 {
        under if under < 1.0 => "under 1 %".to_owned(),
        over if over > 99.0 => "over 99 %".to_owned(),
        percent => format!("{percent:.0} %"),
    }
}

/// `Mon 22 Jun`.
pub(super) fn short_day(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// `Fri 26 June`.
pub(super) fn long_day(day: NaiveDate) -> String {
    day.format("%a %-d %B").to_string()
}

/// `Wed 24 June 12:00`.
pub(super) fn hour(at: NaiveDateTime) -> String {
    at.format("%a %-d %B %H:%M").to_string()
}
