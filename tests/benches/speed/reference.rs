//! Work that libraries of another language do as well: Croston's method and its kin over 10 000 records of 1 095
//! days, and 10 000 quantiles. The baseline is those libraries in the same run, one process that is asked in turns;
//! the ratio is their time over that of the domain, for the same figures, and both must find the same. Which Python
//! it is has to be said: without one nothing is compared, and that is told.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::Instant;

use domain::intermittent::{Smoothing, croston, sba, tsb};
use domain::predictive::NegativeBinomial;
use tempfile::TempDir;

use crate::{ROUNDS, explain, median, say};

/// Names a Python that has numpy, scipy and statsforecast.
const PYTHON: &str = "TIGSTOCK_REFERENCE_PYTHON";

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/speed/reference.py");

const SERIES: usize = 10_000;
const PERIODS: usize = 1_095;
const QUANTILES: usize = 10_000;

/// A piece of work: its name here and in the script, and the ratio it should reach.
struct Work {
    figure: &'static str,
    name: &'static str,
    target: f64,
    ours: fn(&Figures) -> Result<Vec<f64>, String>,
}

const WORK: [Work; 4] = [
    Work {
        figure: "croston_10000x1095",
        name: "croston",
        target: 4.0,
        ours: |figures| Ok(figures.records().map(croston).collect()),
    },
    Work {
        figure: "sba_10000x1095",
        name: "sba",
        target: 4.0,
        ours: |figures| Ok(figures.records().map(sba).collect()),
    },
    Work {
        figure: "tsb_10000x1095",
        name: "tsb",
        target: 4.0,
        ours: |figures| {
            let alpha = Smoothing::USUAL;
            Ok(figures.records().map(|it| tsb(it, alpha, alpha)).collect())
        },
    },
    Work {
        figure: "negative_binomial_quantiles_10000",
        name: "quantiles",
        target: 10.0,
        ours: quantiles,
    },
];

/// What both sides compute from; invented.
struct Figures {
    series: Vec<f64>,
    /// A chance, a size and a probability each.
    quantiles: Vec<f64>,
}

/// Measures the figures that are wanted, if there is something to compare them with.
pub(crate) fn run(is_wanted: impl Fn(&str) -> bool) -> Result<(), String> {
    let wanted: Vec<&Work> = WORK.iter().filter(|work| is_wanted(work.figure)).collect();
    if wanted.is_empty() {
        return Ok(());
    }
    let Some(python) = std::env::var_os(PYTHON) else {
        for work in wanted {
            say(&format!(
                "SKIPPED {}: set {PYTHON} to a Python with numpy, scipy and statsforecast",
                work.figure
            ))?;
        }
        return Ok(());
    };
    let figures = Figures::invented();
    let mut other = Other::start(Path::new(&python), &figures)?;
    for work in wanted {
        let ratio = ratio(work, &figures, &mut other)?;
        say(&format!(
            "ratio {} {ratio:.3} target >={}",
            work.figure, work.target
        ))?;
    }
    other.end()
}

fn ratio(work: &Work, figures: &Figures, other: &mut Other) -> Result<f64, String> {
    let (mut theirs, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let (seconds, expected) = other.ask(work.name)?;
        theirs.push(seconds);
        let begin = Instant::now();
        let found = (work.ours)(figures)?;
        ours.push(begin.elapsed().as_secs_f64());
        agree(work.name, &expected, &found)?;
    }
    let (theirs, ours) = (median(theirs), median(ours));
    explain(&format!(
        "{}: the other library {:.2} ms, ours {:.2} ms",
        work.name,
        theirs * 1e3,
        ours * 1e3
    ))?;
    Ok(theirs / ours)
}

fn agree(name: &str, expected: &[f64], found: &[f64]) -> Result<(), String> {
    if expected.len() != found.len() {
        return Err(format!("{name}: {} and {}", expected.len(), found.len()));
    }
    let differs = expected
        .iter()
        .zip(found)
        .position(|(expected, found)| (expected - found).abs() > 1e-9 * expected.abs());
    differs.map_or(Ok(()), |at| {
        Err(format!(
            "{name}, number {at}: the other library finds {}, the domain {}",
            expected[at], found[at]
        ))
    })
}

fn quantiles(figures: &Figures) -> Result<Vec<f64>, String> {
    let one = |it: &[f64]| {
        let uses = NegativeBinomial::new(it[1], it[2], 1.0 - it[2]);
        let quantile = uses.map_err(|error| error.to_string())?.quantile(it[0]);
        let quantile = u32::try_from(quantile).map_err(|error| error.to_string())?;
        Ok(f64::from(quantile))
    };
    figures.quantiles.chunks_exact(3).map(one).collect()
}

/// The other side: a process that waits for work.
struct Other {
    process: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    folder: TempDir,
}

impl Other {
    fn start(python: &Path, figures: &Figures) -> Result<Self, String> {
        let folder = TempDir::new().map_err(|error| error.to_string())?;
        write(&folder.path().join("series.f64"), &figures.series)?;
        write(&folder.path().join("quantiles.f64"), &figures.quantiles)?;
        let mut process = Command::new(python)
            .arg(SCRIPT)
            .arg(folder.path())
            .args([SERIES.to_string(), PERIODS.to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| format!("{}: {error}", python.display()))?;
        let to = process.stdin.take().ok_or("no way to ask it")?;
        let from = process.stdout.take().ok_or("no way to hear it")?;
        let mut other = Self {
            process,
            to,
            from: BufReader::new(from),
            folder,
        };
        let ready = other.line()?;
        if ready == "ready" {
            Ok(other)
        } else {
            Err(format!("{} says {ready:?}", python.display()))
        }
    }

    /// The seconds that a piece of work took, and what was found.
    fn ask(&mut self, name: &str) -> Result<(f64, Vec<f64>), String> {
        writeln!(self.to, "{name}").map_err(|error| error.to_string())?;
        let seconds = self.line()?;
        let seconds = seconds
            .parse()
            .map_err(|error| format!("{seconds:?}: {error}"))?;
        Ok((
            seconds,
            read(&self.folder.path().join(format!("{name}.f64")))?,
        ))
    }

    fn line(&mut self) -> Result<String, String> {
        let mut line = String::new();
        let read = self.from.read_line(&mut line);
        match read.map_err(|error| error.to_string())? {
            0 => Err("the other side ended; what it said is above".to_owned()),
            _ => Ok(line.trim().to_owned()),
        }
    }

    fn end(mut self) -> Result<(), String> {
        drop(self.to);
        let ended = self.process.wait().map_err(|error| error.to_string())?;
        if ended.success() {
            Ok(())
        } else {
            Err(format!("the other side failed: {ended}"))
        }
    }
}

fn write(path: &Path, figures: &[f64]) -> Result<(), String> {
    let bytes: Vec<u8> = figures.iter().flat_map(|it| it.to_le_bytes()).collect();
    fs::write(path, bytes).map_err(|error| error.to_string())
}

fn read(path: &Path) -> Result<Vec<f64>, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let (figures, rest) = bytes.as_chunks::<8>();
    if rest.is_empty() {
        Ok(figures.iter().map(|it| f64::from_le_bytes(*it)).collect())
    } else {
        Err(format!("{} is cut off", path.display()))
    }
}

impl Figures {
    /// Parts that are used once in 500 days to once a day, and quantiles of a small shop and of a larger one.
    fn invented() -> Self {
        let mut dice = Dice(1);
        let mut series = Vec::with_capacity(SERIES * PERIODS);
        for _ in 0..SERIES {
            let none = (-(500.0_f64.powf(-dice.fraction()))).exp();
            series.extend((0..PERIODS).map(|_| dice.poisson(none)));
        }
        let quantiles = (0..QUANTILES).flat_map(|_| {
            let mut between = |low: f64, high: f64| low + (high - low) * dice.fraction();
            [between(0.5, 0.999), between(0.5, 40.0), between(0.05, 0.95)]
        });
        Self {
            quantiles: quantiles.collect(),
            series,
        }
    }

    fn records(&self) -> impl Iterator<Item = &[f64]> {
        self.series.chunks_exact(PERIODS)
    }
}

/// Dice (`SplitMix64`, as published by Steele, Lea and Flood, 2014).
struct Dice(u64);

impl Dice {
    /// Between 0 and 1, neither of them.
    fn fraction(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let top = u32::try_from((mixed ^ (mixed >> 31)) >> 32).unwrap_or(u32::MAX);
        (f64::from(top) + 0.5) / 4_294_967_296.0
    }

    /// A Poisson count whose chance of none is given: factors until their product is below it.
    fn poisson(&mut self, none: f64) -> f64 {
        let (mut count, mut product) = (0.0, self.fraction());
        while product > none {
            count += 1.0;
            product *= self.fraction();
        }
        count
    }
}
