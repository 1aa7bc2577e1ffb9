//! The long run of the crash test: `cargo run --release -p tigstock-tests --bin crash -- --kills 1000`.
//! Its last line is `kills N acknowledged A lost L doubled D`. The test itself is in `support/crash`.

use std::io::Write;
use std::process::ExitCode;

use clap::Parser;
use tigstock_tests::crash;

/// Kill the server under load again and again, and see that nothing acknowledged is lost.
#[derive(Debug, Parser)]
struct Arguments {
    /// How often to kill it.
    #[arg(long, default_value_t = 50)]
    kills: u32,
    /// What chance follows from; the same seed tells the same entries.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

#[tokio::main]
async fn main() -> ExitCode {
    let Arguments { kills, seed } = Arguments::parse();
    say(&format!("seed {seed}"));
    crash::disk::without_room(seed, say).await;
    #[cfg(unix)]
    crash::disk::read_only(say).await;
    let outcome = crash::run(kills, seed, say).await;
    say(&outcome.to_string());
    if (outcome.lost, outcome.doubled) == (0, 0) {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

fn say(line: &str) {
    // If nobody reads it, the exit code still tells.
    let _ = writeln!(std::io::stdout(), "{line}");
}
