//! The program as users start it, built beside the tests that kill it.

use clap::Parser;
use std::process::ExitCode;

#[tokio::main]
async fn main() -> ExitCode {
    match pinset::cli::run(pinset::cli::Cli::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("pinset: {error:#}");
            ExitCode::FAILURE
        }
    }
}
