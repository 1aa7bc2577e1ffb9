//! Logging, set up once at start. Lines go to standard error, so that standard output stays free for
//! answers.

use std::io::IsTerminal;

use tracing_subscriber::EnvFilter;

use crate::config::{Config, LogFormat};

/// Starts logging.
///
/// # Errors
/// The filter cannot be read, or logging runs already.
pub fn start(config: &Config) -> Result<(), String> {
    let filter = EnvFilter::try_new(&config.log)
        .map_err(|error| format!("log: {error}; give a level such as info or warn"))?;
    let lines = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal());
    match config.log_format {
        LogFormat::Text => lines.try_init(),
        LogFormat::Json => lines.json().try_init(),
    }
    .map_err(|error| error.to_string())
}
