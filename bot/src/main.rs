//! The `pinset` program: reads the command line, does one thing, prints a fatal error once.

#![forbid(unsafe_code)]

use clap::Parser;
use pinset::cli::{Cli, run};
use std::process::ExitCode;

#[tokio::main]
async fn main() -> ExitCode {
    let cli = Cli::parse();
    match run(cli).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("pinset: {error:#}");
            ExitCode::FAILURE
        }
    }
}
