//! The track record of one part as a chart in SVG, readable in the width of a phone. What it shows was
//! computed elsewhere; nothing here judges.

use chrono::NaiveDate;
use maud::{Markup, html};
use types::{PastForecast, TrackRecord, TrackRecords};

/// So many forecasts fit into the width of a phone; the newest are shown.
const SHOWN_MAX: usize = 52;
const WIDTH: f64 = 390.0;
const HEIGHT: f64 = 250.0;
/// The plot: its top and bottom, and what is left free at its right.
const TOP: f64 = 68.0;
const BOTTOM: f64 = 212.0;
const RIGHT: f64 = 10.0;
/// The size of letters, and about how wide a figure of that size is.
const LETTER: f64 = 12.0;
const FIGURE: f64 = 7.0;
/// At most so many lines across.
const LINES_MAX: i64 = 5;

const INK: &str = "#1a1a1a";
const PAPER: &str = "#ffffff";
const LINE: &str = "#d0d0d0";
const BAR: &str = "#9db8d2";

/// The chart of the first record, or of why there is none.
pub(super) fn of(records: &TrackRecords) -> Markup {
    let Some(record) = records.records.first() else {
        return nothing(records);
    };
    let all = record.each.as_deref().unwrap_or_default();
    let shown = all.get(all.len().saturating_sub(SHOWN_MAX)..);
    let shown = shown.unwrap_or_default();
    let plot = Plot::of(shown);
    let title = format!("{}: forecasts and what was used", record.part);
    let over = over(records);
    let content = html! {
        (legend())
        text x="4" y=(TOP - 13.0) { "used in " (over) }
        (lines(&plot))
        @for (index, forecast) in shown.iter().enumerate() {
            (drawn(&plot, index, forecast))
        }
        (days(&plot, shown))
    };
    frame(&title, &description(records, record, shown), &content)
}

/// The part's code and why nothing can be told of it.
fn nothing(records: &TrackRecords) -> Markup {
    let part = records.cannot_tell.first();
    let code = part.map_or("", |part| &*part.part);
    let why = part.map_or("no part was asked for", |part| &*part.why);
    let content = html! {
        @for (line, words) in wrapped(why, 52).iter().enumerate() {
            text x="4" y=(TOP + 16.0 * real(i64::try_from(line).unwrap_or(0))) { (words) }
        }
    };
    let title = format!("{code}: cannot tell how forecasts did");
    frame(&title, &format!("Cannot tell: {why}."), &content)
}

/// The picture around its content. The first two elements are what a reader hears who does not see it.
fn frame(title: &str, description: &str, content: &Markup) -> Markup {
    let view = format!("0 0 {WIDTH} {HEIGHT}");
    html! {
        svg xmlns="http://www.w3.org/2000/svg" width=(WIDTH) height=(HEIGHT) viewBox=(view) role="img"
            aria-labelledby="track-record-title" aria-describedby="track-record-description"
            font-family="sans-serif" font-size=(LETTER) fill=(INK) {
            title id="track-record-title" { (title) }
            desc id="track-record-description" { (description) }
            rect width=(WIDTH) height=(HEIGHT) fill=(PAPER) {}
            // A code of 64 letters is set closer rather than cut.
            text x="4" y="16" font-weight="bold" textLength=[fits(title)] lengthAdjust="spacingAndGlyphs" {
                (title)
            }
            (content)
        }
    }
}

/// The width into which a heading is pressed that would be wider than the chart.
fn fits(heading: &str) -> Option<f64> {
    let letters = real(i64::try_from(heading.chars().count()).unwrap_or(0));
    let width = WIDTH - RIGHT;
    (letters * FIGURE > width).then_some(width)
}

/// What bars, ticks and dots mean.
fn legend() -> Markup {
    let y = 36.0;
    let middle = y - 4.0;
    html! {
        rect x="4" y=(y - 11.0) width="6" height="14" fill=(BAR) {}
        text x="15" y=(y) { "90 % range" }
        line x1="90" x2="102" y1=(middle) y2=(middle) stroke=(INK) stroke-width="2" {}
        text x="107" y=(y) { "middle" }
        circle cx="162" cy=(middle) r="3" fill=(INK) {}
        text x="170" y=(y) { "used, within" }
        circle cx="257" cy=(middle) r="3.5" fill=(PAPER) stroke=(INK) stroke-width="1.5" {}
        text x="266" y=(y) { "used, outside" }
    }
}

/// Where things lie in the plot.
struct Plot {
    left: f64,
    /// The width of one forecast.
    step: f64,
    /// The value at the top.
    most: i64,
    /// From one line across to the next.
    apart: i64,
}

impl Plot {
    fn of(shown: &[PastForecast]) -> Self {
        let most = shown.iter().map(|it| it.high.max(it.used)).max();
        let apart = apart(most.unwrap_or(1).max(1));
        // The top is a line across.
        let most = most.unwrap_or(1).max(1);
        let most = (most + apart - 1) / apart * apart;
        let figures = i64::try_from(most.to_string().len()).unwrap_or(1);
        let left = 12.0 + FIGURE * real(figures);
        let forecasts = real(i64::try_from(shown.len().max(1)).unwrap_or(1));
        Self {
            left,
            step: (WIDTH - RIGHT - left) / forecasts,
            most,
            apart,
        }
    }

    /// The middle of a forecast.
    fn x(&self, index: usize) -> f64 {
        self.left + self.step * (real(i64::try_from(index).unwrap_or(0)) + 0.5)
    }

    fn y(&self, value: i64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * real(value) / real(self.most)
    }

    /// Half the width of a bar.
    fn half(&self) -> f64 {
        (self.step * 0.4).min(9.0)
    }
}

/// One, two or five times a power of ten, so that few lines reach the top.
fn apart(most: i64) -> i64 {
    let mut ten = 1_i64;
    loop {
        for times in [1, 2, 5] {
            let apart = ten.saturating_mul(times);
            if most / apart <= LINES_MAX {
                return apart;
            }
        }
        ten = ten.saturating_mul(10);
    }
}

/// The lines across with their figures.
fn lines(plot: &Plot) -> Markup {
    let figures = (0..=plot.most / plot.apart).map(|line| line * plot.apart);
    html! {
        @for figure in figures {
            @let y = place(plot.y(figure));
            line x1=(place(plot.left - 4.0)) x2=(place(WIDTH - RIGHT)) y1=(y) y2=(y) stroke=(LINE) {}
            text x=(place(plot.left - 7.0)) y=(place(plot.y(figure) + 4.0)) text-anchor="end" { (figure) }
        }
    }
}

/// One forecast and what came.
fn drawn(plot: &Plot, index: usize, forecast: &PastForecast) -> Markup {
    let (x, half) = (plot.x(index), plot.half());
    // A range of one number is seen as well.
    let (top, bottom) = (plot.y(forecast.high) - 2.0, plot.y(forecast.low) + 2.0);
    let middle = place(plot.y(forecast.median));
    // The tick stands out on both sides of a dot that lies on it.
    let (tick, radius) = (
        (half * 1.25).min(plot.step * 0.5),
        place((half * 0.8).clamp(1.6, 4.0)),
    );
    html! {
        g {
            title {
                (day(forecast.from)) " to " (day(forecast.to)) ": used " (forecast.used) ", range "
                (forecast.low) " to " (forecast.high) ", middle " (forecast.median)
            }
            rect x=(place(x - half)) y=(place(top)) width=(place(2.0 * half)) height=(place(bottom - top))
                fill=(BAR) {}
            line x1=(place(x - tick)) x2=(place(x + tick)) y1=(middle) y2=(middle) stroke=(INK)
                stroke-width="1.5" {}
            circle cx=(place(x)) cy=(place(plot.y(forecast.used))) r=(radius)
                fill=(if forecast.held { INK } else { PAPER }) stroke=(INK) stroke-width="1.2" {}
        }
    }
}

/// The first and the last day under the plot.
fn days(plot: &Plot, shown: &[PastForecast]) -> Markup {
    let y = BOTTOM + 24.0;
    html! {
        @if let (Some(first), Some(last)) = (shown.first(), shown.last()) {
            text x=(place(plot.left)) y=(y) { (day(first.from)) }
            text x=(place(WIDTH - RIGHT)) y=(y) text-anchor="end" { (day(last.to)) }
        }
    }
}

/// The chart in words.
fn description(records: &TrackRecords, record: &TrackRecord, shown: &[PastForecast]) -> String {
    let within = shown.iter().filter(|it| it.held).count();
    let days = shown.first().zip(shown.last());
    let days = days.map_or_else(String::new, |(first, last)| {
        format!(", {} to {}", day(first.from), day(last.to))
    });
    format!(
        "The newest {} of {} forecasts of use in {}{days}: each with its range as a bar, its middle as a tick and \
         what was used as a dot. {within} dots lie within their bar and are filled, {} lie outside and are \
         hollow. {}",
        shown.len(),
        record.forecasts,
        over(records),
        shown.len() - within,
        record.says
    )
}

/// What one forecast is over.
fn over(records: &TrackRecords) -> String {
    match records.ahead {
        1 => format!("a {}", records.period),
        many => format!("{many} {}s", records.period),
    }
}

fn day(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

/// A place on the chart, to a tenth.
fn place(value: f64) -> String {
    format!("{value:.1}")
}

/// A count for drawing; none is drawn above two thousand millions.
fn real(value: i64) -> f64 {
    f64::from(i32::try_from(value).unwrap_or(i32::MAX))
}

/// Words in lines of at most so many letters, as far as the words allow.
fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::DateTime;
    use types::CannotTell;

    #[test]
    fn lines_across_are_whole_numbers_and_few() {
        for (most, expected) in [
            (1, 1),
            (5, 1),
            (6, 2),
            (11, 2),
            (12, 5),
            (29, 5),
            (30, 10),
            (8_400, 2_000),
        ] {
            assert_eq!(apart(most), expected, "{most}");
        }
    }

    #[test]
    fn what_is_told_is_text_and_never_markup() {
        let part = CannotTell {
            part: "\"><script>".to_owned(),
            why: "a < b & c".to_owned(),
        };
        let records = TrackRecords {
            as_of: DateTime::UNIX_EPOCH,
            stands_for: None,
            site: "shop".to_owned(),
            group: "own".to_owned(),
            period: "week".to_owned(),
            ahead: 1,
            records: Vec::new(),
            cannot_tell: vec![part],
            assumes: Vec::new(),
        };
        let chart = of(&records).into_string();
        assert!(!chart.contains("<script"), "{chart}");
        assert!(chart.contains("a &lt; b &amp; c"), "{chart}");
    }

    #[test]
    fn a_long_heading_is_pressed_into_the_width() {
        assert_eq!(fits("WLa20-2.4: forecasts and what was used"), None);
        assert_eq!(fits(&"a".repeat(64)), Some(380.0));
    }

    #[test]
    fn words_are_not_cut_in_two() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("unbreakable a", 4), ["unbreakable", "a"]);
    }
}
