//! Speed, as ratios against baselines of the same run: absolute figures say more about a machine than
//! about a program. One line a figure on standard output, `ratio NAME VALUE target >=X`; what was
//! measured goes to standard error. Each figure is the median of three rounds in which baseline and
//! subject take turns. All traffic stays on loopback, bounded in count.

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "printing is what it is for"
)]

#[path = "speed/forecasts.rs"]
mod forecasts;
#[path = "speed/load.rs"]
mod load;
#[path = "speed/reads.rs"]
mod reads;
#[path = "speed/writes.rs"]
mod writes;

/// How often each pair is measured.
const ROUNDS: usize = 3;

/// A baseline and a subject, both in things a second.
struct Pair {
    baseline: f64,
    subject: f64,
}

/// Prints the median ratio of some rounds, and the rounds themselves.
fn report(name: &str, target: f64, what: &str, pairs: &[Pair]) {
    let mut ratios: Vec<f64> = pairs
        .iter()
        .map(|pair| pair.subject / pair.baseline)
        .collect();
    ratios.sort_by(f64::total_cmp);
    for pair in pairs {
        eprintln!(
            "{name}: {:.0} {what}, baseline {:.0}",
            pair.subject, pair.baseline
        );
    }
    println!(
        "ratio {name} {:.2} target >={target}",
        ratios[ratios.len() / 2]
    );
}

fn main() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(async {
        writes::measure().await;
        reads::measure().await;
    });
    forecasts::measure();
}
