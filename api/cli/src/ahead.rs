//! The days to come: what `forecast` tells without a size of work.

use types::{AheadExplanation, AheadSpan, ForecastAhead, ForecastsAhead, GetForecastsAhead};

use crate::failure::{Failure, exit};
use crate::sheet::{Cell, Sheet, target};
use crate::shop::Shop;

/// Asks and shows.
pub(crate) async fn run(query: &GetForecastsAhead, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    shop.send_waiting().await?;
    let told = shop.client.get_forecasts_ahead(query).await?;
    if told.forecasts.is_empty() {
        shop.output.show_data(&told, &sheet(&told));
    } else {
        shop.output.show(&told, &sheet(&told));
        shop.output.gap();
    }
    for part in &told.cannot_tell {
        let line = format!("Cannot tell for {}: {}.", part.part, part.why);
        shop.output.say(&line);
    }
    for forecast in &told.forecasts {
        shop.output.say(&forecast.says);
        if let Some(explanation) = &forecast.explain {
            for line in figures(explanation) {
                shop.output.say(&format!("  {line}"));
            }
        }
    }
    for assumed in told.assumes.iter().filter(|_| !told.forecasts.is_empty()) {
        shop.output.say(assumed);
    }
    let nothing = told.forecasts.is_empty() && !told.cannot_tell.is_empty();
    Ok(if nothing { exit::UNKNOWN } else { exit::DONE })
}

/// The figures behind a forecast, line by line.
fn figures(told: &AheadExplanation) -> Vec<String> {
    let mut lines = Vec::new();
    for assumed in &told.assumptions {
        lines.push(format!(
            "Assumed: {} in {} {}s ({}).",
            rounded(assumed.shape),
            rounded(assumed.rate),
            assumed.per,
            assumed.source
        ));
    }
    for rate in &told.rates {
        let per = told.assumptions.iter().map(|assumed| &assumed.per);
        let each = rate.over.iter().zip(&rate.means).zip(per);
        let each = each.map(|((over, mean), per)| format!("{over:.2} {per}s, {mean:.4} to one"));
        let each: Vec<String> = each.collect();
        let groups = rate.groups.join(", ");
        lines.push(format!(
            "On record ({groups}): {} used over {}.",
            rate.used,
            each.join(" and ")
        ));
    }
    for by_week in &told.calendar {
        lines.push(format!(
            "By the week ({}): {} used, {:.4} to a week.",
            by_week.group, by_week.used, by_week.a_week
        ));
    }
    lines.push(span("Forecast", &told.forecast));
    for case in &told.order_point {
        lines.push(span("Order point", case));
    }
    lines.push(told.how.clone());
    lines
}

/// To three decimals, without those that are nothing.
fn rounded(number: f64) -> f64 {
    (number * 1e3).round() / 1e3
}

fn span(what: &str, span: &AheadSpan) -> String {
    let mean: f64 = span.cases.iter().map(|case| case.chance * case.mean).sum();
    format!(
        "{what}: {} days with a chance of {:.1} %, {mean:.2} expected in {} cases.",
        span.days,
        100.0 * span.chance,
        span.cases.len()
    )
}

fn sheet(told: &ForecastsAhead) -> Sheet {
    let targets = told.forecasts.first();
    let targets = targets.map_or(String::new(), |it| target(it.target));
    let need = format!("Need at {targets}");
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("expected", "Expected"),
        ("low", "From"),
        ("high", "To"),
        ("need", &need),
        ("available", "Available"),
        ("chance", "Lasts"),
        ("order_point", "Order point"),
        ("lead_days", "Lead days"),
        ("run_out_early", ""),
        ("run_out_median", "Runs out"),
        ("run_out_late", ""),
    ]);
    for forecast in &told.forecasts {
        sheet.push(row(forecast));
    }
    sheet
}

fn row(forecast: &ForecastAhead) -> [Cell; 12] {
    let day = |day: Option<chrono::NaiveDate>| {
        day.map_or(Cell::Nothing, |day| Cell::Text(day.to_string()))
    };
    [
        Cell::from(&forecast.part),
        Cell::mean(forecast.expected),
        Cell::Whole(forecast.low),
        Cell::Whole(forecast.high),
        Cell::Whole(forecast.need),
        Cell::Whole(forecast.available),
        Cell::chance(forecast.chance),
        Cell::from(forecast.order_point),
        Cell::from(forecast.lead_days),
        day(forecast.run_out.early),
        day(forecast.run_out.median),
        day(forecast.run_out.late),
    ]
}
