//! Use over the days to come: the shop's own weeks, or a pace that is stated, lulls and the jobs that are
//! booked, by all operator groups together. What is read of the database is in `reading`, what a part has on
//! record in `record`, what is booked in `plan`; what follows for one part is in `part` and `outlook`, by way
//! of the domain's `review`. Forecasts for work of a given size are in `forecasts`.

use chrono::Days;
use domain::exposure::ArcTime;
use domain::forecast::Target;
use types::{
    CannotTell, Checker, ForecastAhead, ForecastsAhead, GetForecastsAhead, TARGET_DEFAULT,
};

use super::forecasts::{asked_parts, flag, whole};
use super::known::View;
use super::{Context, Error, codes, instant, parts};
use crate::store::entity::parts as part_rows;

mod explain;
mod outlook;
mod part;
mod plan;
mod reading;
mod record;
mod to_come;
mod words;

pub use part::PartAhead;
pub use reading::{Lead, Reading};

/// How many days a forecast is over unless told.
const DAYS_DEFAULT: i64 = 30;
/// How far run-out dates reach, in days.
pub const HORIZON: u32 = 366;
/// How often the stock is looked at unless told, in days.
pub const REVIEW_DEFAULT: i64 = 7;

/// How the days to come are looked at for a part.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// How often the stock is looked at, in days, 1 to 90: with the lead time, what an order point covers.
    pub review: u32,
    /// The chance of having enough that an order point gives.
    pub target: Target,
    /// Arc minutes of a normal week, stated: spread evenly over its days and taken as certain. The pace is
    /// that of the shop's own weeks unless told.
    pub week: Option<f64>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            review: 7,
            target: Target::DEFAULT,
            week: None,
        }
    }
}

/// What is asked, checked.
struct Asked {
    days: u32,
    options: Options,
    view: View,
    explain: bool,
}

/// Use of those parts over the days to come.
pub async fn get(context: &Context, query: &GetForecastsAhead) -> Result<ForecastsAhead, Error> {
    let asked = checked(query, context)?;
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let parts = asked_parts(context, query.part.as_deref(), asked.view).await?;
    let reading = Reading::load(db, &parts, &site, asked.view).await?;
    let (mut forecasts, mut cannot_tell) = (Vec::new(), Vec::new());
    for part in &parts {
        match reading.part(part, &asked.options)? {
            Ok(ahead) => forecasts.push(told(part, &ahead, (&asked, &reading))?),
            Err(why) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why,
            }),
        }
    }
    let today = reading.today();
    let last = today.checked_add_days(Days::new(u64::from(asked.days) - 1));
    Ok(ForecastsAhead {
        as_of: asked.view.at,
        site: site.code.clone(),
        from: today,
        to: last.unwrap_or(today),
        forecasts,
        cannot_tell,
        assumes: words::assumes(asked.options.week),
    })
}

fn checked(query: &GetForecastsAhead, context: &Context) -> Result<Asked, Error> {
    let mut checker = Checker::default();
    let days = query.days.unwrap_or(DAYS_DEFAULT);
    checker.range("days", days, 1, i64::from(HORIZON));
    let review = query.review_days.unwrap_or(REVIEW_DEFAULT);
    checker.range("review_days", review, 1, 90);
    let week = checker.take_opt("week", query.week.as_deref(), ArcTime::parse);
    if week.is_some_and(|week| week.seconds() == 0) {
        checker.note(
            "week",
            "is zero; give the arc time of a normal week, such as 6h",
        );
    }
    let explain = checker.take("explain", flag(query.explain.as_deref()));
    let target = checker.take(
        "target",
        Target::new(query.target.unwrap_or(TARGET_DEFAULT)),
    );
    checker.finish().map_err(Error::in_query)?;
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let small = |number: i64| u32::try_from(number).unwrap_or(1);
    Ok(Asked {
        days: small(days),
        options: Options {
            review: small(review),
            target: target.ok_or_else(|| Error::Invalid(Vec::new()))?,
            week: week.map(|week| week.hours() * 60.0),
        },
        view: View::present(at),
        explain: explain.unwrap_or(false),
    })
}

fn told(
    part: &part_rows::Model,
    ahead: &PartAhead,
    (asked, reading): (&Asked, &Reading),
) -> Result<ForecastAhead, Error> {
    let uses = ahead.over(asked.days)?;
    let at = |chance: f64| whole(uses.quantile(chance));
    let available = ahead.available();
    let outlook = ahead.outlook();
    let mut told = ForecastAhead {
        part: part.code.clone(),
        name: parts::spec(part)?.describe(),
        drivers: outlook
            .drivers
            .iter()
            .map(|it| it.as_str().to_owned())
            .collect(),
        groups: outlook.groups(asked.days),
        booked: outlook.booked(asked.days),
        courses: reading.courses(part.id, asked.days),
        expected: uses.mean(),
        low: at(0.05),
        median: at(0.5),
        high: at(0.95),
        target: asked.options.target.get(),
        need: at(asked.options.target.get()),
        available,
        chance: uses.cdf(u64::try_from(available).unwrap_or(0)),
        order_point: ahead.order_point()?,
        lead_days: ahead.lead().map(Lead::middle),
        run_out: ahead.run_out()?,
        says: String::new(),
        explain: None,
    };
    told.says = words::says(&told, asked.days);
    told.says.push_str(&words::besides(&outlook.besides));
    if asked.explain {
        let target = asked.options.target;
        told.explain = Some(explain::explanation(ahead, asked.days, target)?);
    }
    Ok(told)
}

fn fault(error: &dyn std::error::Error) -> Error {
    Error::Internal(error.to_string())
}
