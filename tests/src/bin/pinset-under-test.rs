//! The program as users start it, built beside the tests that kill it.

#![forbid(unsafe_code)]

use clap::Parser;
use std::process::ExitCode;

#[tokio::main]
async fn main() -> ExitCode {
    match pinset::cli::run(pinset::cli::Cli::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("pinset: {error:#}");
            // What a test sets to see what a panic says.
            if let Ok(last_words) = std::env::var("PINSET_UNDER_TEST_PANICS") {
                panic!("{last_words}");
            }
            ExitCode::FAILURE
        }
    }
}
