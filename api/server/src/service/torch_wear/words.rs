//! The wear of a torch in words: what, how much, since when, and what to look at. Never what the cause is.

use chrono::{Datelike, NaiveDate};
use domain::part::PartKind;
use domain::torch_wear::{FollowUp, Grinding, Outcome, Pace, Ratio, Reason, Sign, Window};

use super::changes::Change;
use crate::service::learned::{percent, short};

/// What is told of a torch and a part.
pub(super) struct About<'a> {
    pub(super) torch: &'a str,
    pub(super) kind: PartKind,
    /// The noun of the exposure after any number but one.
    pub(super) plural: &'static str,
    pub(super) window: Window,
    /// Exposure in it as it was logged.
    pub(super) over: f64,
    pub(super) times: Option<f64>,
    pub(super) ratio: Ratio,
}

impl About<'_> {
    /// How much faster, and how sure that is.
    pub(super) fn fast(&self) -> String {
        let times = self.times.unwrap_or_else(|| self.ratio.quantile(0.5));
        format!(
            "{} uses {} {}: {}, {} expected (a normal torch does this {}). Allowing for the small sample the \
             true rate is probably between {:.1} and {:.1} times normal.",
            self.torch,
            plural(self.kind),
            in_words(times),
            self.counted(),
            few(self.window.expected),
            rarely(self.window.tail),
            self.ratio.quantile(0.05),
            self.ratio.quantile(0.95),
        )
    }

    /// What was used, without judging it.
    pub(super) fn plain(&self) -> String {
        let of = if self.window.used == 1 {
            self.kind.noun().to_owned()
        } else {
            plural(self.kind)
        };
        format!(
            "{} used {} {of} in {} {}, {} expected.",
            self.torch,
            self.window.used,
            short(self.over),
            self.plural,
            few(self.window.expected),
        )
    }

    /// That there is nothing to tell.
    pub(super) fn normal(&self) -> String {
        format!(
            "{} uses {} like the other torches: {}, {} expected.",
            self.torch,
            plural(self.kind),
            self.counted(),
            few(self.window.expected),
        )
    }

    fn counted(&self) -> String {
        let (used, over) = (self.window.used, short(self.over));
        format!("{used} in {over} {}", self.plural)
    }
}

/// When it began, and what was changed shortly before.
pub(super) fn began(start: NaiveDate, near: Option<(&Change, i64)>) -> String {
    let began = start.format("Began %-d %b");
    let Some((change, days)) = near else {
        return format!("{began}.");
    };
    let when = match days {
        0 => "on the day".to_owned(),
        1 => "one day after".to_owned(),
        2 => "two days after".to_owned(),
        3 => "three days after".to_owned(),
        days => format!("{days} days after"),
    };
    format!("{began}, {when} {} changed.", listed(&change.kinds()))
}

/// `the back cap was`, `the back cap and the O-ring were`.
fn listed(kinds: &[PartKind]) -> String {
    let nouns: Vec<String> = kinds
        .iter()
        .map(|kind| format!("the {}", kind.noun()))
        .collect();
    match nouns.split_last() {
        None => "the set-up was".to_owned(),
        Some((only, [])) => format!("{only} was"),
        Some((last, rest)) => format!("{} and {last} were", rest.join(", ")),
    }
}

/// What grinding speaks for.
pub(super) fn ground(found: Grinding, (torch, others): (Pace, Pace)) -> String {
    let figures = || {
        let of = |pace: Pace| format!("{:.1}", pace.per_hour().unwrap_or_default());
        (of(torch), of(others))
    };
    match found {
        Grinding::Unchanged => "Grinds per hour did not rise, so dipping is unlikely; think erosion or \
                                oxidation."
            .to_owned(),
        Grinding::Unclear => {
            let (torch, others) = figures();
            format!(
                "Grinds per hour are {torch} against {others}: dipping is neither likely nor ruled out."
            )
        }
        Grinding::Risen => {
            let (torch, others) = figures();
            format!(
                "Grinds per hour are {torch} against {others}, so dipping is likely; see how the torch is \
                 held before you look for a fault."
            )
        }
        Grinding::NotLogged => {
            "Grinds or arc hours are not logged on both sides, so dipping cannot be told from erosion."
                .to_owned()
        }
    }
}

/// What a repair came to.
pub(super) fn followed(found: &FollowUp, plural: &str) -> String {
    let figures = format!("{} used, {} expected.", found.used, few(found.expected));
    let old = percent(found.as_few_if_unchanged);
    match found.outcome {
        Outcome::LooksNormal => {
            format!("Looks normal: {figures} At the old rate so few would be a {old} chance.")
        }
        Outcome::StillFast => format!(
            "Still fast: {figures} A normal torch does this {}. Go on with the checks.",
            rarely(found.as_many_if_normal)
        ),
        Outcome::TooEarly => format!(
            "Too early to tell: {figures} At the old rate so few would be a {old} chance; about {:.0} more \
             {plural} without a change would tell.",
            found.to_wait.ceil().max(1.0)
        ),
    }
}

/// That a course explains it.
pub(super) fn by_course(first: NaiveDate, last: NaiveDate) -> String {
    format!(
        "Explained by the course on {}. No fault suspected.",
        days(first, last)
    )
}

/// That a group explains it.
pub(super) fn by_group(group: &str, used: i64, of: u64) -> String {
    format!(
        "Explained by who worked: the group {group} used {used} of the {of}. No fault suspected."
    )
}

/// That a group does not explain it.
pub(super) fn untold(group: &str, used: i64, of: u64) -> String {
    format!(
        "The group {group} used {used} of the {of}. How fast it is on other torches is not known yet, and \
         grinds per hour did not rise with it. Check the record first."
    )
}

/// `12-13 Sep`, `30 Aug to 2 Sep`.
fn days(first: NaiveDate, last: NaiveDate) -> String {
    if first == last {
        first.format("%-d %b").to_string()
    } else if first.year() == last.year() && first.month() == last.month() {
        format!("{}-{}", first.day(), last.format("%-d %b"))
    } else {
        format!("{} to {}", first.format("%-d %b"), last.format("%-d %b"))
    }
}

/// Why a check stands higher than usual.
pub(super) fn because(reasons: &[Reason]) -> Option<String> {
    let each = reasons.iter().map(|reason| match reason {
        Reason::Changed(kind) => format!("the {} was changed shortly before", kind.noun()),
        Reason::Logged(polarity) => {
            format!("most of the work was logged with {}", polarity.as_str())
        }
        Reason::Seen(Sign::AboveBand) => "work was logged above your band".to_owned(),
        Reason::Seen(Sign::LargeEntry) => "one entry tells of five pieces or more".to_owned(),
        Reason::Seen(Sign::Course) => "a course was held meanwhile".to_owned(),
        Reason::Seen(Sign::GreyTip) => "the electrode was grey or blue".to_owned(),
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| each.join("; "))
}

/// Pieces that are expected, with one place, or two where they are fewer than one.
pub(super) fn few(pieces: f64) -> String {
    if pieces < 1.0 {
        format!("{pieces:.2}")
    } else {
        format!("{pieces:.1}")
    }
}

/// `about three times as fast`, to the nearest half.
fn in_words(times: f64) -> String {
    const WHOLE: [&str; 11] = [
        "",
        "",
        "twice",
        "three times",
        "four times",
        "five times",
        "six times",
        "seven times",
        "eight times",
        "nine times",
        "ten times",
    ];
    if times < 1.25 {
        return "about as fast as the others".to_owned();
    } else if times < 1.75 {
        return "about one and a half times as fast".to_owned();
    } else if (2.25..2.75).contains(&times) {
        return "about two and a half times as fast".to_owned();
    }
    let whole = times.round();
    let index = WHOLE
        .iter()
        .zip(0_u32..)
        .find(|(_, at)| f64::from(*at) >= whole);
    index.map_or_else(
        || format!("about {whole:.0} times as fast"),
        |(word, _)| format!("about {word} as fast"),
    )
}

/// `1 time in 300`, to two figures.
fn rarely(chance: f64) -> String {
    if chance >= 0.5 {
        return format!("{} of the time", percent(chance));
    } else if chance < 1e-6 {
        return "less than 1 time in a million".to_owned();
    }
    let one_in = 1.0 / chance;
    let mut scale = 1.0;
    while one_in / scale >= 100.0 {
        scale *= 10.0;
    }
    format!("1 time in {:.0}", (one_in / scale).round() * scale)
}

/// The noun of a kind after any number but one.
pub(super) fn plural(kind: PartKind) -> String {
    let noun = kind.noun();
    match (noun.strip_suffix('y'), noun.ends_with('s')) {
        (Some(stem), _) => format!("{stem}ies"),
        (None, true) => format!("{noun}es"),
        (None, false) => format!("{noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_many_times_is_told_to_the_nearest_half() {
        for (times, told) in [
            (1.1, "about as fast as the others"),
            (1.6, "about one and a half times as fast"),
            (2.1, "about twice as fast"),
            (2.5, "about two and a half times as fast"),
            (2.95, "about three times as fast"),
            (10.2, "about ten times as fast"),
            (12.4, "about 12 times as fast"),
        ] {
            assert_eq!(in_words(times), told);
        }
    }

    #[test]
    fn a_small_chance_is_told_as_one_in_so_many() {
        for (chance, told) in [
            (0.0033, "1 time in 300"),
            (0.04, "1 time in 25"),
            (0.000_123, "1 time in 8100"),
            (1e-9, "less than 1 time in a million"),
            (0.7, "70 % of the time"),
        ] {
            assert_eq!(rarely(chance), told);
        }
    }

    #[test]
    fn kinds_have_plurals() {
        let told = [PartKind::Electrode, PartKind::ColletBody, PartKind::GasLens].map(plural);
        assert_eq!(told, ["electrodes", "collet bodies", "gas lenses"]);
    }

    #[test]
    fn days_of_a_course_are_told_shortly() {
        let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day).expect("a day");
        assert_eq!(days(day(9, 12), day(9, 13)), "12-13 Sep");
        assert_eq!(days(day(9, 12), day(9, 12)), "12 Sep");
        assert_eq!(days(day(8, 30), day(9, 2)), "30 Aug to 2 Sep");
    }
}
