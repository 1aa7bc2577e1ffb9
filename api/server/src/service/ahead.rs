//! Use over the days to come: the shop's own weeks, lulls and the jobs that are booked, by all operator
//! groups together. What a part has on record is read in `record`, what is booked in `plan`, what follows
//! is in `outlook`; how use follows is the domain's `review`. Forecasts for work of a given size are in
//! `forecasts`.

use std::collections::HashMap;

use chrono::{Days, NaiveDate};
use chrono_tz::Tz;
use domain::forecast::Target;
use domain::predictive::Mixture;
use sea_orm::ConnectionTrait;
use types::{
    CannotTell, Checker, ForecastAhead, ForecastsAhead, GetForecastsAhead, RunOut, TARGET_DEFAULT,
};

use super::forecasts::{asked_parts, whole};
use super::known::{self, View};
use super::lead_times::Delivery;
use super::ledger::book;
use super::{Context, Error, codes, instant, lulls, parts, suppliers};
use crate::store;
use crate::store::entity::parts as part_rows;

mod law;
mod outlook;
mod plan;
mod record;
mod words;

pub(super) use law::{Law, laws};
use outlook::Outlook;
use plan::Booked;
use record::Record;

/// How many days a forecast is over unless told.
const DAYS_DEFAULT: i64 = 30;
/// How far run-out dates reach.
const HORIZON: u32 = 366;
/// The chance with which stock is used up by the early end of a range of run-out dates.
const EARLY: f64 = 0.05;
/// How often the stock is looked at unless told.
const REVIEW_DEFAULT: i64 = 7;

/// What is asked, checked.
struct Asked {
    days: u32,
    review: u32,
    target: Target,
    view: View,
}

/// Where and from when, for all parts.
struct Place {
    today: NaiveDate,
    /// The share of normal work on each day of the horizon.
    shares: Vec<f64>,
    booked: Vec<Booked>,
}

/// Use of those parts over the days to come.
pub async fn get(context: &Context, query: &GetForecastsAhead) -> Result<ForecastsAhead, Error> {
    let asked = checked(query, context)?;
    let db = context.store.read();
    let site = codes::site_or_first(db, "?site", query.site.as_deref()).await?;
    let parts = asked_parts(context, query.part.as_deref(), asked.view).await?;
    let zone = instant::site_zone(&site.zone);
    let today = asked.view.at.with_timezone(&zone).date_naive();
    let place = Place {
        today,
        shares: lulls::shares(db, site.id, today, HORIZON).await?,
        booked: plan::booked(db, &site, (today, HORIZON)).await?,
    };
    let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
    let first = record::first_day(today);
    let days = known::wear_days(db, asked.view, (site.id, &ids), first).await?;
    let levels = known::levels(db, asked.view, (site.id, &ids)).await?;
    let assumptions = store::parts::assumptions(db, ids.iter().copied()).await?;
    let mut leads = lead_days(db, &ids, (asked.view, zone)).await?;
    let (mut forecasts, mut cannot_tell) = (Vec::new(), Vec::new());
    for part in &parts {
        let of_part: Vec<_> = days.iter().filter(|row| row.part_id == part.id).collect();
        match Record::of(part, &of_part, &assumptions, today)? {
            Ok(record) => {
                let book = levels.get(&part.id).copied().unwrap_or_default();
                let available = book::level(&book, part, &site).usable();
                let stock = (available, leads.remove(&part.id));
                forecasts.push(one(part, record, stock, (&asked, &place))?);
            }
            Err(why) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why,
            }),
        }
    }
    let last = today.checked_add_days(Days::new(u64::from(asked.days) - 1));
    Ok(ForecastsAhead {
        as_of: asked.view.at,
        site: site.code.clone(),
        from: today,
        to: last.unwrap_or(today),
        forecasts,
        cannot_tell,
        assumes: words::assumes(),
    })
}

fn checked(query: &GetForecastsAhead, context: &Context) -> Result<Asked, Error> {
    let mut checker = Checker::default();
    let days = query.days.unwrap_or(DAYS_DEFAULT);
    checker.range("days", days, 1, i64::from(HORIZON));
    let review = query.review_days.unwrap_or(REVIEW_DEFAULT);
    checker.range("review_days", review, 1, 90);
    let target = checker.take(
        "target",
        Target::new(query.target.unwrap_or(TARGET_DEFAULT)),
    );
    checker.finish().map_err(Error::in_query)?;
    let at = instant::asked(query.now.as_deref(), context.clock.now())?;
    let small = |number: i64| u32::try_from(number).unwrap_or(1);
    Ok(Asked {
        days: small(days),
        review: small(review),
        target: target.ok_or_else(|| Error::Invalid(Vec::new()))?,
        view: View::present(at),
    })
}

/// In how many days an order of now is there, each with its chance, by the offer that is first for each of
/// those parts.
async fn lead_days(
    db: &impl ConnectionTrait,
    ids: &[i64],
    (view, zone): (View, Tz),
) -> Result<HashMap<i64, Vec<(u32, f64)>>, Error> {
    let offers = store::offers::of_parts(db, ids.iter().copied()).await?;
    let sellers = offers.iter().map(|offer| offer.supplier_id);
    let sellers = store::suppliers::get_many(db, sellers).await?;
    let deliveries = Delivery::of(db, &sellers, (view, zone)).await?;
    let now = view.at.with_timezone(&zone).naive_local();
    let mut first: HashMap<i64, (NaiveDate, Vec<(u32, f64)>)> = HashMap::new();
    for offer in &offers {
        let Some(delivery) = deliveries.get(&offer.supplier_id) else {
            continue;
        };
        let none_until = offer
            .none_until
            .as_deref()
            .map(suppliers::day)
            .transpose()?;
        let arrives = delivery.arrival(now, none_until);
        let known = first.get(&offer.part_id);
        if known.is_none_or(|(before, _)| arrives < *before) {
            first.insert(offer.part_id, (arrives, delivery.days(now, none_until)));
        }
    }
    let days = first.into_iter().map(|(part, (_, days))| (part, days));
    Ok(days.collect())
}

fn one(
    part: &part_rows::Model,
    record: Record,
    (available, leads): (i64, Option<Vec<(u32, f64)>>),
    (asked, place): (&Asked, &Place),
) -> Result<ForecastAhead, Error> {
    let outlook = record.outlook(part.id, place)?;
    let uses = outlook.over(asked.days)?;
    let at = |chance: f64| whole(uses.quantile(chance));
    let enough = u64::try_from(available).unwrap_or(0);
    let order_point = match &leads {
        None => None,
        Some(leads) => {
            let until = leads
                .iter()
                .map(|(days, chance)| ((days + asked.review).min(HORIZON), *chance));
            let uses = outlook.over_each(until)?;
            Some(whole(uses.quantile(asked.target.get())))
        }
    };
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
        courses: plan::courses(&place.booked, part.id, (place.today, asked.days)),
        expected: uses.mean(),
        low: at(0.05),
        median: at(0.5),
        high: at(0.95),
        target: asked.target.get(),
        need: at(asked.target.get()),
        available,
        chance: uses.cdf(enough),
        order_point,
        lead_days: leads.map(|leads| middle(&leads)),
        run_out: run_out(&outlook, available, place.today)?,
        says: String::new(),
    };
    told.says = words::says(&told, asked.days);
    Ok(told)
}

/// The number of days that is as likely too few as too many.
fn middle(leads: &[(u32, f64)]) -> i64 {
    let mut sum = 0.0;
    let found = leads.iter().find(|(_, chance)| {
        sum += chance;
        sum >= 0.5 - 1e-9
    });
    found
        .or(leads.last())
        .map_or(0, |(days, _)| i64::from(*days))
}

/// The first days by which what is available is used up with a chance of 5, 50 and 95 %.
fn run_out(outlook: &Outlook, available: i64, today: NaiveDate) -> Result<RunOut, Error> {
    let Some(last) = u64::try_from(available)
        .ok()
        .and_then(|it| it.checked_sub(1))
    else {
        return Ok(RunOut {
            early: Some(today),
            median: Some(today),
            late: Some(today),
        });
    };
    let is_out = |days: u32, chance: f64| -> Result<bool, Error> {
        let uses: Mixture = outlook.over(days)?;
        Ok(uses.sf(last) >= chance)
    };
    let day = |chance: f64| -> Result<Option<NaiveDate>, Error> {
        if !is_out(HORIZON, chance)? {
            return Ok(None);
        }
        let (mut before, mut by) = (0, HORIZON);
        while by - before > 1 {
            let middle = before + (by - before) / 2;
            if is_out(middle, chance)? {
                by = middle;
            } else {
                before = middle;
            }
        }
        Ok(today.checked_add_days(Days::new(u64::from(by) - 1)))
    };
    Ok(RunOut {
        early: day(0.05)?,
        median: day(0.5)?,
        late: day(0.95)?,
    })
}

fn fault(error: &dyn std::error::Error) -> Error {
    Error::Internal(error.to_string())
}
