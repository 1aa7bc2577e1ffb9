//! Speed, as ratios to baselines of the same run: a ratio means the same on a fast machine and on a
//! slow one. Each figure is one line on standard output, `ratio NAME VALUE target >=X`; whatever
//! explains it goes to standard error. The load is bounded in time and goes over loopback only.

use std::io::Write;

mod commits;
mod fits;
mod flat;
mod forecasts;
mod kits;
mod load;
mod looks;
mod mixtures;
mod orders;
mod plain;
mod reads;
mod reference;
mod service;
mod sheets;
mod usage;

/// How often baseline and subject are measured, in turns; the median counts.
const ROUNDS: usize = 3;

/// A figure: its name, the ratio it should reach, and how it is measured.
struct Figure {
    name: &'static str,
    target: f64,
    measure: fn() -> Result<f64, String>,
}

const FIGURES: [Figure; 13] = [
    Figure {
        name: "usage_posts_64",
        target: 1.2,
        measure: || usage::ratio(64),
    },
    Figure {
        name: "usage_posts_1",
        target: 0.5,
        measure: || usage::ratio(1),
    },
    Figure {
        name: "stock_reads",
        target: 0.5,
        measure: reads::ratio,
    },
    Figure {
        name: "forecasts_10000",
        target: 10.0,
        measure: forecasts::ratio,
    },
    Figure {
        name: "mixtures_10000",
        target: 1.0,
        measure: mixtures::ratio,
    },
    Figure {
        name: "forecasts_after_a_million",
        target: 0.8,
        measure: || flat::ratio(flat::Asked::Work),
    },
    Figure {
        name: "ahead_after_a_million",
        target: 0.8,
        measure: || flat::ratio(flat::Asked::Days),
    },
    Figure {
        name: "fits_10000",
        target: 1.0,
        measure: fits::ratio,
    },
    Figure {
        name: "kit_counts_40x200",
        target: 0.2,
        measure: kits::ratio,
    },
    Figure {
        name: "look_200_parts",
        target: 1.0,
        measure: looks::ratio,
    },
    Figure {
        name: "orders_200x5",
        target: 0.002,
        measure: orders::ratio,
    },
    Figure {
        name: "import_usage",
        target: 0.02,
        measure: sheets::pushed,
    },
    Figure {
        name: "export_movements",
        target: 0.1,
        measure: sheets::pulled,
    },
];

fn main() -> Result<(), String> {
    // The harness passes `--bench`, and perhaps names of figures to be measured alone.
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|argument| !argument.starts_with('-'))
        .collect();
    let is_wanted = |name: &str| {
        wanted.is_empty() || wanted.iter().any(|wanted| name.contains(wanted.as_str()))
    };
    for Figure {
        name,
        target,
        measure,
    } in FIGURES
    {
        if is_wanted(name) {
            let ratio = measure()?;
            say(&format!("ratio {name} {ratio:.3} target >={target}"))?;
        }
    }
    reference::run(is_wanted)
}

/// Measures baseline and subject in turns, both in units a second, and gives the ratio of medians.
fn compare(
    name: &str,
    mut baseline: impl FnMut(usize) -> Result<f64, String>,
    mut subject: impl FnMut(usize) -> Result<f64, String>,
) -> Result<f64, String> {
    let (mut baselines, mut subjects) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        baselines.push(baseline(round)?);
        subjects.push(subject(round)?);
    }
    explain(&format!(
        "{name}: baseline {baselines:.0?} a second, subject {subjects:.0?} a second"
    ))?;
    Ok(median(subjects) / median(baselines))
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn say(line: &str) -> Result<(), String> {
    writeln!(std::io::stdout().lock(), "{line}").map_err(|error| error.to_string())
}

fn explain(line: &str) -> Result<(), String> {
    writeln!(std::io::stderr().lock(), "{line}").map_err(|error| error.to_string())
}
