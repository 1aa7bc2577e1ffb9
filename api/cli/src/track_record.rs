//! The track record of forecasts: `forecast` with `--track-record`. Forecasts themselves are in `forecast`.

use std::path::{Path, PathBuf};

use clap::Args;
use types::{GetTrackRecord, MethodScore, TrackRecord, TrackRecords};

use crate::failure::{Failure, exit};
use crate::output::Output;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

/// Where among the ranges and the losses each figure is.
const HALF: usize = 0;
const MIDDLE: usize = 1;
const WIDE: usize = 2;

/// The options of a track record.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Say how often forecasts held on the shop's own history, beside simple methods
    #[arg(long, conflicts_with_all = ["arc", "grinds", "weeks", "pace", "cover", "target"])]
    track_record: bool,
    /// With --track-record: cut the history into weeks or months; weeks unless told
    #[arg(long, value_name = "PERIOD", value_parser = ["week", "month"])]
    period: Option<String>,
    /// With --track-record: how many periods each forecast is over, 1 to 12; 1 unless told
    #[arg(long, value_name = "N")]
    ahead: Option<i64>,
    /// With --track-record: draw the record of one part into a file, as SVG
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
}

impl Options {
    /// Whether a track record is asked for.
    ///
    /// # Errors
    /// An option of one is given alone. The reader of command lines lets that pass beside `--arc`, which
    /// conflicts with what would be missing.
    pub(crate) fn asked(&self) -> Result<bool, Failure> {
        let alone = [
            ("--period", self.period.is_some()),
            ("--ahead", self.ahead.is_some()),
            ("--chart", self.chart.is_some()),
        ];
        match alone.iter().find(|(_, given)| *given && !self.track_record) {
            Some((option, _)) => Err(Failure::CommandLine(format!(
                "{option} is of a track record; give --track-record with it, and no --arc, --grinds or --weeks"
            ))),
            None => Ok(self.track_record),
        }
    }

    /// Shows the track record, `query` naming the parts and the instant.
    pub(crate) async fn run(
        self,
        query: GetTrackRecord,
        shop: &mut Shop<'_, '_>,
    ) -> Result<u8, Failure> {
        let one = query.part.as_ref().is_some_and(|part| !part.contains(','));
        if self.chart.is_some() && !one {
            return Err(Failure::CommandLine(
                "a chart is of one part; name it: forecast WLa20-2.4 --track-record --chart FILE.svg"
                    .into(),
            ));
        }
        shop.send_waiting().await?;
        let query = GetTrackRecord {
            period: self.period,
            ahead: self.ahead,
            ..query
        };
        let records = shop.client.get_track_record(&query).await?;
        show(&records, shop.output);
        if records.records.is_empty() {
            if self.chart.is_some() {
                shop.output
                    .note("No chart is written: there is nothing to draw yet.");
            }
            return Ok(exit::UNKNOWN);
        }
        if let Some(path) = &self.chart {
            let chart = shop.client.get_track_record_chart(&query).await?;
            write(path, &chart)?;
            shop.output
                .note(&format!("The chart is in {}.", path.display()));
        }
        Ok(exit::DONE)
    }
}

fn write(path: &Path, chart: &str) -> Result<(), Failure> {
    std::fs::write(path, chart).map_err(|source| Failure::NotWritten {
        path: path.to_owned(),
        source,
    })
}

fn show(records: &TrackRecords, output: &mut Output<'_>) {
    if records.records.is_empty() {
        output.show_data(records, &sheet(records));
    } else {
        output.show(records, &sheet(records));
        output.gap();
    }
    if let Some(stands_for) = &records.stands_for {
        output.say(stands_for);
    }
    for part in &records.cannot_tell {
        output.say(&format!("Cannot tell for {}: {}.", part.part, part.why));
    }
    for record in &records.records {
        output.say(&format!("{}: {}", record.part, record.says));
        for forecast in record.each.iter().flatten() {
            let outside = if forecast.held { "" } else { ", outside" };
            output.say(&format!(
                "  {} to {}: {} to {}, middle {}; used {}{outside}",
                forecast.from,
                forecast.to,
                forecast.low,
                forecast.high,
                forecast.median,
                forecast.used,
            ));
        }
    }
    if !records.records.is_empty() {
        output.gap();
        for assumed in &records.assumes {
            output.say(assumed);
        }
    }
}

/// Track records as a sheet: one row a part and method.
fn sheet(records: &TrackRecords) -> Sheet {
    let mut sheet = Sheet::new([
        ("part", "Part"),
        ("method", ""),
        ("method_name", "Forecast by"),
        ("forecasts", "Forecasts"),
        ("held_50", "50 % range held"),
        ("held_80", "80 % range"),
        ("held_90", "90 % range"),
        ("loss_50", "Missed at 50 %"),
        ("loss_90", "at 90 %"),
        ("loss_95", "at 95 %"),
        ("verdict", ""),
        ("as_of", ""),
    ]);
    for record in &records.records {
        for score in [&record.own].into_iter().chain(&record.methods) {
            sheet.push(row(records, record, score));
        }
    }
    sheet
}

fn row(records: &TrackRecords, record: &TrackRecord, score: &MethodScore) -> [Cell; 12] {
    let held = |place: usize| {
        let range = score.ranges.get(place);
        range.map_or(Cell::Nothing, |range| Cell::chance(range.held))
    };
    let loss = |place: usize| {
        let loss = score.losses.get(place);
        loss.map_or(Cell::Nothing, |loss| Cell::Real {
            value: loss.loss,
            shown: format!("{:.3}", loss.loss),
        })
    };
    let own = score.method == record.own.method;
    [
        Cell::from(&record.part),
        Cell::from(&score.method),
        Cell::from(&score.name),
        Cell::Whole(i64::from(record.forecasts)),
        held(HALF),
        held(MIDDLE),
        held(WIDE),
        loss(HALF),
        loss(MIDDLE),
        loss(WIDE),
        if own {
            Cell::from(&record.verdict)
        } else {
            Cell::Nothing
        },
        Cell::Text(records.as_of.to_rfc3339()),
    ]
}
