//! The command line as a whole: what holds for every command, and the list of them. The options of
//! one command live with it.

use clap::{Args, Parser, Subcommand};

use crate::failure::Failure;
use crate::output::Format;
use crate::shop::Shop;
use crate::{
    allocate, changes, close, count, explain, export, fit, forecast, import, kit, log, matching,
    movement, order, plan, questions, receive, stock, stub, take, trace, transfer, undo, warn,
};

const OVERVIEW: &str = "\
Examples:
  tigstock log T1 75m 3g             75 minutes of arc time and 3 grinds on torch T1
  tigstock take T1 electrode         a new electrode for T1
  tigstock plan R-118 --arc 34h --torch T1 --start 2026-06-26
                                     will this job run without a stop?
  tigstock order R-118               draft the order that fixes it, then place it

The service and the key: --server and --key, else TIGSTOCK_SERVER and TIGSTOCK_KEY, else the
profile (TIGSTOCK_PROFILE, or tigstock/client.toml in your configuration folder), else
http://127.0.0.1:8710 without a key.

Exit codes: 0 done, or enough; 1 something to order; 2 a job is blocked; 3 could not tell;
64 bad command line; 65 refused by the server; 69 server not reachable; 74 this computer could
not keep or print something; 78 the profile cannot be used.";

/// Log use, check stock and plan jobs: TIG torch consumables, before they stop the work.
#[derive(Debug, Parser)]
#[command(name = "tigstock", version, after_help = OVERVIEW, max_term_width = 100)]
pub(crate) struct Cli {
    #[command(flatten)]
    pub global: Global,
    #[command(subcommand)]
    pub command: Command,
}

/// What holds for every command.
#[derive(Debug, Args)]
#[command(next_help_heading = "For every command")]
pub(crate) struct Global {
    /// The address of the service
    #[arg(long, global = true, value_name = "URL")]
    pub server: Option<String>,
    /// The secret of a key
    #[arg(long, global = true, value_name = "SECRET")]
    pub key: Option<String>,
    /// A table for people, json as the API answers, or csv for a spreadsheet
    #[arg(long, global = true, value_enum, default_value_t)]
    pub format: Format,
    /// The site; that of the torch, else the first one, unless told
    #[arg(long, global = true, value_name = "SITE")]
    pub site: Option<String>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Log(log::Log),
    Take(take::Take),
    Return(take::Return),
    Broke(take::Broke),
    Receive(receive::Receive),
    Count(count::Count),
    Scrap(movement::Scrap),
    Hold(movement::Hold),
    Release(movement::Release),
    Transfer(transfer::Transfer),
    Stub(stub::Stub),
    Import(import::Import),
    Export(export::Export),
    Stock(stock::Stock),
    Fit(fit::Fit),
    Kit(kit::Kit),
    Match(matching::Match),
    Forecast(forecast::Forecast),
    Explain(explain::Explain),
    Changes(changes::Changes),
    Plan(Box<plan::Plan>),
    Order(order::Order),
    Allocate(allocate::Allocate),
    Trace(trace::Trace),
    Warn(warn::Warn),
    Check(warn::Check),
    Questions(questions::Questions),
    Answer(questions::Answer),
    Close(close::Close),
    Undo(undo::Undo),
}

impl Command {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        match self {
            Self::Log(log) => log.run(shop).await,
            Self::Take(take) => take.run(shop).await,
            Self::Return(put_back) => put_back.run(shop).await,
            Self::Broke(broke) => broke.run(shop).await,
            Self::Receive(receive) => receive.run(shop).await,
            Self::Count(count) => count.run(shop).await,
            Self::Scrap(scrap) => scrap.run(shop).await,
            Self::Hold(hold) => hold.run(shop).await,
            Self::Release(release) => release.run(shop).await,
            Self::Transfer(transfer) => transfer.run(shop).await,
            Self::Stub(stub) => stub.run(shop).await,
            Self::Import(import) => import.run(shop).await,
            Self::Export(export) => export.run(shop).await,
            Self::Stock(stock) => stock.run(shop).await,
            Self::Fit(fit) => fit.run(shop).await,
            Self::Kit(kit) => kit.run(shop).await,
            Self::Match(matching) => matching.run(shop).await,
            Self::Forecast(forecast) => forecast.run(shop).await,
            Self::Explain(explain) => explain.run(shop).await,
            Self::Changes(changes) => changes.run(shop).await,
            Self::Plan(plan) => plan.run(shop).await,
            Self::Order(order) => order.run(shop).await,
            Self::Allocate(allocate) => allocate.run(shop).await,
            Self::Trace(trace) => trace.run(shop).await,
            Self::Warn(warn) => warn.run(shop).await,
            Self::Check(check) => check.run(shop).await,
            Self::Questions(questions) => questions.run(shop).await,
            Self::Answer(answer) => answer.run(shop).await,
            Self::Close(close) => close.run(shop).await,
            Self::Undo(undo) => undo.run(shop).await,
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_has_help_with_examples() {
        for command in Cli::command().get_subcommands() {
            let help = command
                .get_after_help()
                .map(ToString::to_string)
                .unwrap_or_default();
            let name = command.get_name();
            assert!(
                help.contains(&format!("tigstock {name}")),
                "{name} has no example"
            );
            assert!(command.get_about().is_some(), "{name} is not described");
        }
    }
}
