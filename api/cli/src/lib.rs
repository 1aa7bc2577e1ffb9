//! The command line of tigstock: another face of the API for a person at the bench. One file per
//! command; `run` is the whole program, so that tests can call it without starting a process.

mod ahead;
mod allocate;
mod args;
mod changes;
mod close;
mod count;
mod days;
mod delivery;
mod entry;
mod env;
mod explain;
mod export;
mod failure;
mod fit;
mod forecast;
mod grammar;
mod import;
mod instant;
mod kit;
mod last;
mod log;
mod matching;
mod movement;
mod needs;
mod order;
mod output;
mod past;
mod plan;
mod questions;
mod queue;
mod receive;
mod sheet;
mod shop;
mod size;
mod stock;
mod stub;
mod take;
mod torch_wear;
mod trace;
mod track_record;
mod transfer;
mod undo;
mod warn;
mod weld;
mod why_out;

use std::ffi::OsString;
use std::io::Write;

use clap::Parser;

pub use env::{Env, Zone};
use failure::Failure;
use output::Output;
use shop::Shop;

/// Runs one command line and answers with its exit code. `args` begins with the name of the program.
///
/// It waits for the network itself, so a caller that is asynchronous must give it a thread of its
/// own.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
    env: &mut Env,
) -> u8 {
    let cli = match args::Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(told) => return output::tell_usage(out, err, &told),
    };
    let mut output = Output::new(out, err, cli.global.format);
    let code = perform(cli, &mut output, env).unwrap_or_else(|failure| {
        output.failure(&failure);
        failure.exit_code()
    });
    output.finish(code)
}

fn perform(cli: args::Cli, output: &mut Output<'_>, env: &mut Env) -> Result<u8, Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|source| Failure::System {
            doing: "start",
            source,
        })?;
    let mut shop = Shop::open(cli.global, output, env)?;
    runtime.block_on(cli.command.run(&mut shop))
}

#[cfg(test)]
mod tests;
