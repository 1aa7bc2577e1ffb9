//! The days to come: what `forecast` tells without a size of work.

use types::{ForecastAhead, ForecastsAhead, GetForecastsAhead};

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
    }
    for assumed in told.assumes.iter().filter(|_| !told.forecasts.is_empty()) {
        shop.output.say(assumed);
    }
    let nothing = told.forecasts.is_empty() && !told.cannot_tell.is_empty();
    Ok(if nothing { exit::UNKNOWN } else { exit::DONE })
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
