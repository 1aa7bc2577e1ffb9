//! The figures behind a forecast of the days to come, so that it can be redone. The forecast itself is in
//! `part` and `outlook`.

use chrono::Days;
use domain::forecast::Target;
use domain::review::Rates;
use types::{
    AheadAssumption, AheadCalendar, AheadCase, AheadDay, AheadExplanation, AheadRate, AheadSpan,
};

use super::outlook::{Outlook, UseToCome};
use super::part::PartAhead;
use crate::service::Error;
use crate::service::forecasts::whole;
use crate::service::learned::percent;

/// The figures behind the forecast of a part over so many days.
pub(super) fn explanation(
    ahead: &PartAhead,
    days: u32,
    target: Target,
) -> Result<AheadExplanation, Error> {
    let outlook = ahead.outlook();
    let mut order_point = Vec::new();
    for (lead, chance) in ahead.lead().map_or(&[][..], |lead| &lead.days) {
        order_point.push(span(outlook, ahead.covered(*lead), *chance)?);
    }
    let spans = order_point.iter().map(|span: &AheadSpan| span.days);
    let longest = spans.chain([i64::from(days)]).max().unwrap_or(0);
    Ok(AheadExplanation {
        assumptions: outlook
            .assumptions
            .iter()
            .map(|(driver, gamma, source)| AheadAssumption {
                per: driver.as_str().to_owned(),
                shape: gamma.shape(),
                rate: gamma.rate(),
                source: (*source).to_owned(),
            })
            .collect(),
        rates: rates(outlook),
        calendar: calendar(outlook),
        paces: paces(outlook),
        work: work(outlook, longest),
        forecast: span(outlook, days, 1.0)?,
        order_point,
        how: how(outlook, target),
    })
}

fn span(outlook: &Outlook, days: u32, chance: f64) -> Result<AheadSpan, Error> {
    let uses = outlook.over(days)?;
    let kept = outlook.kept(days);
    // Without any work there is one law only.
    let is_each = kept.len() == uses.components().len();
    let cases = uses.components().iter().enumerate();
    let case = |(at, (chance, uses)): (usize, &(f64, domain::predictive::NegativeBinomial))| {
        let times = kept.get(at).filter(|_| is_each).map(|(times, _)| *times);
        AheadCase {
            chance: *chance,
            times,
            shape: uses.size(),
            mean: uses.mean(),
        }
    };
    Ok(AheadSpan {
        days: i64::from(days),
        chance,
        cases: cases.map(case).collect(),
    })
}

fn rates(outlook: &Outlook) -> Vec<AheadRate> {
    let UseToCome::ByWork(ahead) = &outlook.use_to_come else {
        return Vec::new();
    };
    let drivers = outlook.drivers.len();
    let told = |rates: &Rates| AheadRate {
        groups: rates
            .groups
            .iter()
            .filter_map(|group| outlook.groups.get(*group).cloned())
            .collect(),
        used: whole(rates.used),
        over: rates.exposures[..drivers].to_vec(),
        means: rates.means[..drivers].to_vec(),
        shape: rates.one.map(|gamma| gamma.shape()),
        rate: rates.one.map(|gamma| gamma.rate()),
    };
    ahead.rates(0).iter().map(told).collect()
}

fn calendar(outlook: &Outlook) -> Vec<AheadCalendar> {
    let mut told = Vec::new();
    if let UseToCome::ByCalendar(known) = &outlook.use_to_come {
        told.push(AheadCalendar {
            group: "all".to_owned(),
            used: whole(outlook.used),
            a_week: known.mean(),
        });
    }
    told.extend(outlook.besides.iter().map(|besides| AheadCalendar {
        group: besides.group.clone(),
        used: whole(besides.used),
        a_week: besides.known.mean(),
    }));
    told
}

fn paces(outlook: &Outlook) -> Vec<f64> {
    match &outlook.use_to_come {
        UseToCome::ByWork(ahead) if outlook.drivers.len() == 2 => ahead.paces().to_vec(),
        UseToCome::ByWork(_) | UseToCome::ByCalendar(_) => Vec::new(),
    }
}

fn work(outlook: &Outlook, days: i64) -> Vec<AheadDay> {
    let days = usize::try_from(days).unwrap_or(0);
    let each = outlook.plan.iter().zip(0_u64..).take(days);
    let told = each.filter_map(|(work, after)| {
        let day = outlook.today.checked_add_days(Days::new(after))?;
        Some(AheadDay {
            day,
            work: work.clone(),
        })
    });
    told.collect()
}

fn how(outlook: &Outlook, target: Target) -> String {
    let law = format!(
        "Use in a case is negative binomial with the shape a and the mean m: P(k) = G(a + k) / (G(a) k!) \
         (a / (a + m))^a (m / (a + m))^k; cases and numbers of days count by their chances. The need, or the \
         order point, is the fewest pieces that are enough with {}.",
        percent(target.get())
    );
    let mean = match (&outlook.use_to_come, outlook.drivers.len()) {
        (UseToCome::ByCalendar(_), _) => {
            "Nothing is logged with it, so it goes by the week: older weeks count less, and how much less is \
             learned from its own record."
        }
        (UseToCome::ByWork(_), 1) => {
            "The mean is times x rate x work of the days, the work of each group times its factor; with one group \
             the shape is that of the rate, with more it is (mean / spread)^2 of what their rates and factors add \
             up to."
        }
        (UseToCome::ByWork(_), _) => {
            "The mean is times x (rate by arc hours x arc hours of the days + rate by grinds x these x grinds to an \
             arc hour), the work of each group times its factor; the shape is (mean / spread)^2, the spread by \
             numerical integration over how use is split between the two."
        }
    };
    let besides = if outlook.besides.is_empty() {
        ""
    } else {
        " What goes by the calendar is added to each case by mean and variance."
    };
    format!("{mean}{besides} {law}")
}
