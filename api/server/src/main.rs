//! The entry point: arguments in, exit code out.

use std::process::ExitCode;

use clap::Parser;
use server::cli::{Arguments, run};

#[tokio::main]
async fn main() -> ExitCode {
    match run(Arguments::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            server::cli::complain(&why);
            ExitCode::FAILURE
        }
    }
}
