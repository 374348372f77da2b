//! The command line: thin over the libraries.

mod command;
mod meter;
mod sheet;
mod text;
mod write;

use clap::Parser;
use command::Cli;
use std::process::ExitCode;
use tracing::Level;
use tracing_subscriber::Layer;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

/// Asks this program to read a PDF in a process of its own, so that a broken one takes nothing along.
const APART: &str = "__read_pdf_apart";

fn main() -> ExitCode {
    // The solver warns of very small figures that it takes for zero; every plan is checked by itself.
    let shown = Targets::new()
        .with_default(Level::WARN)
        .with_target("highs", Level::ERROR);
    tracing_subscriber::registry()
        .with(
            tracing_subscriber::fmt::layer()
                .with_writer(std::io::stderr)
                .with_filter(shown),
        )
        .init();
    if std::env::args_os().nth(1).is_some_and(|a| a == APART) {
        let served = labfiles::pages::serve(std::io::stdin().lock(), std::io::stdout().lock());
        return if served.is_ok() {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        };
    }
    if let Ok(program) = std::env::current_exe() {
        labfiles::pages::ReadApart::new(program, [APART.into()]).install();
    }
    let cli = Cli::parse();
    let json = cli.json;
    match command::run(cli) {
        Ok(()) => ExitCode::SUCCESS,
        // A reader that closed the pipe early, as `head` does, is no failure.
        Err(e) if text::is_closed_pipe(&e) => ExitCode::SUCCESS,
        Err(e) => {
            if json {
                eprintln!("{}", serde_json::json!({ "error": format!("{e:#}") }));
            } else {
                eprintln!("{e:#}");
            }
            ExitCode::FAILURE
        }
    }
}
