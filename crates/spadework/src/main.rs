//! The command line: thin over the libraries.

mod command;
mod meter;
mod text;
mod write;

use clap::Parser;
use command::Cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_max_level(tracing::Level::WARN)
        .init();
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
