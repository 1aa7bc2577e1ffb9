//! `forecast`: how many of a part will be used, and when it runs out.

use chrono::NaiveDate;
use clap::Args;
use types::{Explanation, Forecasts, GetForecasts, GetForecastsAhead, GetTrackRecord, RunOut};

use crate::ahead;
use crate::failure::{Failure, exit};
use crate::grammar::arc_minutes;
use crate::instant::{parse_days, parse_now};
use crate::output::Output;
use crate::past::Past;
use crate::sheet::{Cell, Sheet, target};
use crate::shop::Shop;
use crate::size::Size;
use crate::track_record;

mod lulls;

const EXAMPLES: &str = "\
Without more, it is about the next 30 days, at the pace of the shop's own weeks and with the jobs that are
booked. Give the use to come as arc time, grinds or normal weeks for a piece of work instead. Run-out dates need a pace, order points a
pace and a cover (lead time and review period together). How far to trust all this says
--track-record: how often past forecasts held, beside simple methods. It ends with 3 where nothing
can be told yet.

Examples:
  tigstock forecast WLa20-2.4 --days 60d
  tigstock forecast WLa20-1.6 --days 30d --pace 6h --explain
  tigstock forecast gas-lens-A gas-lens-B --arc 34h --explain
  tigstock forecast WLa20-2.4 --arc 34h --amps 190 --polarity DCEN
  tigstock forecast WLa20-2.4 --grinds 100
  tigstock forecast WLa20-1.6 --weeks 8 --pace 6h --cover 14d
  tigstock forecast WLa20-2.4 --track-record --chart record.svg

Days on which the site does less work than usual, or more, are told once and count in every forecast:
  tigstock forecast --lull 2026-07-01..2026-07-14 --share 0.5 --note 'holidays, one of us is here'
  tigstock forecast --lull 2026-12-24..2027-01-03 --share 0
  tigstock forecast --lulls                     list them
  tigstock forecast --no-lull 2026-07-01        take away the one that begins on that day";

/// Say how many of a part will be used, and when it runs out
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Forecast {
    /// Codes of parts; all that are fitted in torches unless told
    #[arg(value_name = "PART")]
    parts: Vec<String>,
    /// The days to come, today among them: 30d, 8w
    #[arg(long, value_name = "DAYS", value_parser = parse_days)]
    days: Option<i64>,
    /// With --days: how often the stock is looked at, for the order point; 7d unless told
    #[arg(long, value_name = "DAYS", value_parser = parse_days)]
    review: Option<i64>,
    #[command(flatten)]
    size: Size,
    /// Arc time in a usual week, with its unit; that of the shop's own log unless told. With --days it
    /// is taken as certain
    #[arg(long, value_name = "TIME", value_parser = arc_minutes)]
    pace: Option<i64>,
    /// Lead time and review period together, with its unit: 14d, 2w
    #[arg(long, value_name = "DAYS", value_parser = parse_days)]
    cover: Option<i64>,
    /// The chance of having enough; 0.95 unless told
    #[arg(long, value_name = "P")]
    target: Option<f64>,
    /// Operator group: own, helper, beginner or visitor; own unless told
    #[arg(long, value_name = "GROUP")]
    group: Option<String>,
    /// With a size of work: the torch that does it, to go by the lives of its electrodes
    #[arg(long, value_name = "TORCH")]
    torch: Option<String>,
    /// With a size of work: its current in amperes, held against your band of current
    #[arg(long, value_name = "A")]
    amps: Option<i64>,
    /// With a size of work: its polarity, DCEN, DCEP or AC
    #[arg(long, value_name = "POLARITY")]
    polarity: Option<String>,
    /// Show the figures behind each forecast; with --track-record, each past forecast
    #[arg(long)]
    explain: bool,
    /// The instant to forecast from; the present unless told
    #[arg(long, value_name = "TIME", value_parser = parse_now)]
    now: Option<String>,
    #[command(flatten)]
    past: Past,
    #[command(flatten)]
    track: track_record::Options,
    #[command(flatten)]
    lulls: lulls::LullOptions,
}

impl Forecast {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        if self.lulls.asked() {
            return self.lulls.run(shop).await;
        }
        if self.track.asked()? {
            let query = GetTrackRecord {
                part: named(&self.parts),
                group: self.group,
                site: shop.site.clone(),
                explain: self.explain.then(|| "1".to_owned()),
                now: self.now,
                as_of: self.past.as_of,
                known: self.past.known,
                ..GetTrackRecord::default()
            };
            return self.track.run(query, shop).await;
        }
        if self.days.is_some() && !self.size.is_empty() {
            return Err(Failure::CommandLine(
                "--days is about all work of those days; leave it out, or the size of the work"
                    .into(),
            ));
        }
        if self.size.is_empty() {
            let query = GetForecastsAhead {
                part: named(&self.parts),
                days: self.days,
                target: self.target,
                review_days: self.review,
                week: self.pace.map(minutes),
                site: shop.site.clone(),
                explain: self.explain.then(|| "1".to_owned()),
                now: self.now,
            };
            return ahead::run(&query, shop).await;
        }
        shop.send_waiting().await?;
        let query = GetForecasts {
            target: self.target,
            pace: self.pace.map(minutes),
            cover_days: self.cover,
            group: self.group,
            torch: self.torch,
            amps: self.amps,
            polarity: self.polarity,
            now: self.now,
            as_of: self.past.as_of,
            known: self.past.known,
            ..query(&self.parts, &self.size, self.explain, shop)
        };
        let forecasts = shop.client.get_forecasts(&query).await?;
        show(&forecasts, shop.output);
        Ok(exit::DONE)
    }
}

/// The question for these parts and this much use to come.
pub(crate) fn query(
    parts: &[String],
    size: &Size,
    explain: bool,
    shop: &Shop<'_, '_>,
) -> GetForecasts {
    GetForecasts {
        part: named(parts),
        arc: size.arc.map(minutes),
        grinds: size.grinds,
        weeks: size.weeks,
        site: shop.site.clone(),
        explain: explain.then(|| "1".to_owned()),
        ..GetForecasts::default()
    }
}

/// The parts as the service is asked for them.
fn named(parts: &[String]) -> Option<String> {
    Some(parts.join(",")).filter(|parts| !parts.is_empty())
}

fn minutes(minutes: i64) -> String {
    format!("{minutes}m")
}

fn show(forecasts: &Forecasts, output: &mut Output<'_>) {
    output.show(forecasts, &sheet(forecasts));
    output.gap();
    say(forecasts, output);
}

/// Says each forecast in words, and the figures behind it where they were asked for.
pub(crate) fn say(forecasts: &Forecasts, output: &mut Output<'_>) {
    if let Some(stands_for) = &forecasts.stands_for {
        output.say(stands_for);
    }
    for part in &forecasts.cannot_tell {
        output.say(&format!("Cannot tell for {}: {}.", part.part, part.why));
    }
    for forecast in &forecasts.forecasts {
        output.say(&format!("{}: {}", forecast.part, forecast.says));
        if let Some(explanation) = &forecast.explain {
            output.say(&format!("  {}", figures(explanation)));
            output.say(&format!("  {}", explanation.how));
        }
    }
}

/// The figures behind a forecast in one line.
fn figures(explanation: &Explanation) -> String {
    let Explanation {
        assumption,
        assumption_source,
        used,
        over,
        ..
    } = explanation;
    format!(
        "On record: {used} used over {over:.2}, in units of one {per}; {assumption_source}: {} over {}.",
        assumption.shape,
        assumption.rate,
        per = assumption.per,
    )
}

/// Forecasts as a sheet.
pub(crate) fn sheet(forecasts: &Forecasts) -> Sheet {
    let targets = forecasts
        .forecasts
        .first()
        .map_or(String::new(), |it| target(it.target));
    let need = format!("Need at {targets}");
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("name", "Name"),
        ("expected", "Expected use"),
        ("target", ""),
        ("need", &need),
        ("available", "Available"),
        ("chance", "Chance of enough"),
        ("order_point", "Order point"),
        ("run_out_early", "Runs out"),
        ("run_out_median", ""),
        ("run_out_late", ""),
        ("rung", ""),
        ("own_share", "Own data"),
        ("as_of", ""),
    ]);
    for forecast in &forecasts.forecasts {
        let days = forecast.run_out.as_ref();
        let day =
            |day: Option<NaiveDate>| day.map_or(Cell::Nothing, |day| Cell::Text(day.to_string()));
        let early = days.map_or(Cell::Nothing, |days| Cell::Shown {
            value: days.early.map_or(String::new(), |day| day.to_string()),
            shown: range(days),
        });
        sheet.push([
            Cell::from(&forecast.part),
            Cell::from(&forecast.name),
            Cell::mean(forecast.expected),
            Cell::Real {
                value: forecast.target,
                shown: target(forecast.target),
            },
            Cell::Whole(forecast.need),
            Cell::Whole(forecast.available),
            Cell::chance(forecast.chance),
            Cell::from(forecast.order_point),
            early,
            day(days.and_then(|days| days.median)),
            day(days.and_then(|days| days.late)),
            Cell::Whole(i64::from(forecast.rung.number)),
            Cell::chance(forecast.own_share),
            Cell::Text(forecasts.as_of.to_rfc3339()),
        ]);
    }
    sheet
}

/// The range of a run-out day. One day alone would promise more than is known.
fn range(days: &RunOut) -> String {
    let day = |day: NaiveDate| day.format("%-d %b %Y").to_string();
    match (days.early, days.late) {
        (Some(early), Some(late)) if early == late => day(early),
        (Some(early), Some(late)) => format!("{} to {}", day(early), day(late)),
        (Some(early), None) => format!("{} or later", day(early)),
        (None, Some(late)) => format!("by {}", day(late)),
        (None, None) => "not within ten years".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Option<NaiveDate> {
        text.parse().ok()
    }

    // The days of scenario X1.
    #[test]
    fn a_run_out_day_is_told_as_a_range() {
        let mut days = RunOut {
            early: day("2026-07-03"),
            median: day("2026-07-31"),
            late: day("2026-09-22"),
        };
        assert_eq!(range(&days), "3 Jul 2026 to 22 Sep 2026");
        days.late = None;
        assert_eq!(range(&days), "3 Jul 2026 or later");
        assert_eq!(
            range(&RunOut {
                early: None,
                median: None,
                late: None
            }),
            "not within ten years"
        );
    }
}
