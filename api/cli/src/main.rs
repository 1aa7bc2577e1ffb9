//! The command `tigstock`: hands the process's arguments, streams and surroundings to the library.

use std::io;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut env = tigstock_cli::Env::from_process();
    ExitCode::from(tigstock_cli::run(
        std::env::args_os(),
        &mut io::stdout(),
        &mut io::stderr(),
        &mut env,
    ))
}
