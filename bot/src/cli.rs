//! The command line.

mod backtest;
mod backup;
mod check;
mod place;
mod rehearse;
mod secrets;
mod serve;

use crate::config;
use crate::demo::{self, Telling};
use anyhow::Context;
use clap::{Args, CommandFactory, Parser, Subcommand};
use std::path::PathBuf;

/// Orders, surplus and donations of a small mushroom farm, by chat.
#[derive(Parser, Debug)]
#[command(name = "pinset", version, about, long_about = None, arg_required_else_help = true)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Run the bot against the messaging service until stopped
    Serve(ServeOptions),
    /// Play two weeks of a made-up farm and tell them, scene by scene
    Demo {
        /// Print every message of every chat instead
        #[arg(long, conflicts_with = "json")]
        all: bool,
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// Look at the configuration and the database, and say what is wrong and how to mend it
    Check(CheckOptions),
    /// Write everything into one file, also while the bot runs
    Backup {
        /// The file to make, such as farm.jsonl.gz
        file: PathBuf,
        #[command(flatten)]
        farm: FarmOptions,
    },
    /// Put a backup into a database, SQLite or PostgreSQL; the bot is stopped meanwhile
    Restore(RestoreOptions),
    /// Write every table as CSV for a spreadsheet
    Export(ExportOptions),
    /// Live through the farm's own record again, and say how honest the forecast was
    Backtest {
        #[command(flatten)]
        farm: FarmOptions,
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// Try the whole farm in a browser: no account, no network, nobody is reached
    Rehearse(RehearseOptions),
    /// Print a configuration file with every key and its meaning
    SampleConfig,
    /// Print completions for a shell
    Completions {
        /// The shell to complete for
        shell: clap_complete::Shell,
    },
}

/// Where the farm's configuration and database are.
#[derive(Args, Debug, Clone)]
struct FarmOptions {
    /// The configuration file
    #[arg(long, default_value = "pinset.toml", env = "PINSET_CONFIG")]
    config: PathBuf,
    /// The database: sqlite://PATH or postgres://USER@HOST/NAME
    #[arg(long, default_value = "sqlite://pinset.sqlite", env = "PINSET_DATABASE", hide_env_values = true)]
    database: String,
    /// Where it is remembered which farm is served; beside the configuration file unless said
    #[arg(long, value_name = "FILE", env = "PINSET_MARK")]
    mark: Option<PathBuf>,
}

#[derive(Args, Debug)]
struct CheckOptions {
    #[command(flatten)]
    farm: FarmOptions,
    /// Mend what needs nobody to decide, after writing a backup; everything else is only named
    #[arg(long)]
    mend: bool,
}

#[derive(Args, Debug)]
struct ServeOptions {
    #[command(flatten)]
    farm: FarmOptions,
    /// A file that holds the bot's token; the environment variable PINSET_TOKEN does too
    #[arg(long)]
    token_file: Option<PathBuf>,
    /// Another Bot API server than the public one
    #[arg(long)]
    api_url: Option<String>,
    /// Have updates posted to this address instead of asking for them; something in front must speak HTTPS for it
    #[arg(long, requires = "webhook_listen")]
    webhook_url: Option<reqwest::Url>,
    /// Where posted updates are taken, such as 127.0.0.1:8443
    #[arg(long, requires = "webhook_url")]
    webhook_listen: Option<std::net::SocketAddr>,
    /// Begin a new, empty farm where there is no database, although this configuration had a farm before
    #[arg(long = "new")]
    begins_new: bool,
    /// A file with the time as seconds since 1970 to go by instead of the machine's clock, for rehearsals
    #[arg(long, hide = true)]
    clock_file: Option<PathBuf>,
}

#[derive(Args, Debug)]
struct RestoreOptions {
    /// The backup
    file: PathBuf,
    #[command(flatten)]
    farm: FarmOptions,
    /// Put it in the place of the farm that the database holds
    #[arg(long)]
    replace: bool,
    /// Send the messages that waited when the backup was made; otherwise they are set aside, as most went out after that
    #[arg(long)]
    send_waiting: bool,
    /// Only look whether the backup is whole
    #[arg(long, conflicts_with = "replace")]
    only_check: bool,
}

#[derive(Args, Debug)]
struct ExportOptions {
    /// The folder to write into; tables of an earlier export are written over
    folder: PathBuf,
    #[command(flatten)]
    farm: FarmOptions,
}

#[derive(Args, Debug)]
struct RehearseOptions {
    /// Begin with an empty farm that nobody keeps yet, instead of the made-up one
    #[arg(long, conflicts_with = "copy_of")]
    empty: bool,
    /// Begin with a copy of this database (sqlite://PATH); the database itself is only read
    #[arg(long, value_name = "DATABASE")]
    copy_of: Option<String>,
    /// The configuration file; without one the sample's farm is rehearsed, or pinset.toml with --copy-of
    #[arg(long, env = "PINSET_CONFIG")]
    config: Option<PathBuf>,
    /// The page's port on 127.0.0.1; 0 is a free one
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Keep the rehearsal's database in this folder, instead of a temporary one
    #[arg(long)]
    folder: Option<PathBuf>,
}

/// Does what the command line asks for.
///
/// # Errors
/// Anything that makes going on pointless, as one readable line.
pub async fn run(cli: Cli) -> anyhow::Result<()> {
    match cli.command {
        Command::Serve(options) => serve::run(options).await,
        Command::Demo { all, json } => {
            start_logging("warn");
            let telling = if json { Telling::Json } else { Telling::Story };
            demo::run(if all { Telling::Chats } else { telling }).await
        }
        Command::Check(options) => check::run(options).await,
        Command::Backup { file, farm } => backup::write(&farm, &file).await,
        Command::Restore(options) => backup::restore(options).await,
        Command::Export(options) => backup::export(options).await,
        Command::Backtest { farm, json } => backtest::run(&farm, json).await,
        Command::Rehearse(options) => rehearse::run(options).await,
        Command::SampleConfig => {
            print!("{}", config::SAMPLE);
            Ok(())
        }
        Command::Completions { shell } => {
            clap_complete::generate(shell, &mut Cli::command(), "pinset", &mut std::io::stdout());
            Ok(())
        }
    }
}

/// Logs go to standard error; `RUST_LOG` chooses how much.
fn start_logging(default: &str) {
    use tracing_subscriber::EnvFilter;
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(default));
    // A second start in one process keeps the first.
    let is_terminal = std::io::IsTerminal::is_terminal(&std::io::stderr());
    let logger = tracing_subscriber::fmt().with_env_filter(filter).with_ansi(is_terminal);
    let _ = logger.with_writer(|| secrets::Log).try_init();
}

fn read_token(token_file: Option<&PathBuf>) -> anyhow::Result<String> {
    let token = match token_file {
        Some(path) => std::fs::read_to_string(path)
            .with_context(|| format!("the token file {} cannot be read", path.display()))?,
        None => std::env::var("PINSET_TOKEN").ok().context(
            "no token: set PINSET_TOKEN, or give --token-file FILE, with the token from the service's bot maker",
        )?,
    };
    let token = token.trim().to_owned();
    // A token is a number, a colon and a secret (Bot API reference, "Authorizing your bot").
    let looks_right = token.split_once(':').is_some_and(|(number, secret)| {
        !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) && secret.len() >= 8
    });
    anyhow::ensure!(
        looks_right,
        "the token is not of the form 123456:ABC…; copy it again from the service's bot maker"
    );
    secrets::keep(&token);
    Ok(token)
}
