//! What the program says when it cannot start: one clear line and a non-zero exit, or patience where waiting helps.

use bot_api_local::{RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use scheduler::store::Store;
use std::process::{Output, Stdio};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const TOKEN: &str = "123456:a-token-of-the-right-form";

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Place {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("pinset.toml"), SAMPLE).expect("writes");
        Place { folder }
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).current_dir(self.folder.path()).stdin(Stdio::null()).kill_on_drop(true);
        for name in ["PINSET_TOKEN", "PINSET_CONFIG", "PINSET_DATABASE", "RUST_LOG"] {
            command.env_remove(name);
        }
        command
    }

    async fn run(&self, arguments: &[&str], token: Option<&str>) -> Output {
        let mut command = self.command(arguments);
        if let Some(token) = token {
            command.env("PINSET_TOKEN", token);
        }
        let output = tokio::time::timeout(Duration::from_secs(30), command.output());
        output.await.expect("it ends by itself").expect("it runs")
    }

    /// It must fail with one line that holds `expected`.
    async fn fails(&self, arguments: &[&str], token: Option<&str>, expected: &str) {
        let output = self.run(arguments, token).await;
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success(), "{arguments:?} ended well");
        assert!(said.contains(expected), "{arguments:?}: {expected:?} is not in {said:?}");
        let lines: Vec<&str> = said.lines().filter(|line| line.starts_with("pinset: ")).collect();
        assert_eq!(lines.len(), 1, "{arguments:?} says {said:?}");
    }
}

#[tokio::test]
async fn what_keeps_it_from_starting_is_said_in_one_line() {
    let place = Place::new();
    place.fails(&["serve"], None, "no token").await;
    place.fails(&["serve"], Some("nonsense"), "not of the form").await;
    place.fails(&["serve", "--token-file", "missing"], None, "the token file missing cannot be read").await;
    place.fails(&["serve", "--config", "other.toml"], Some(TOKEN), "other.toml cannot be read").await;
    place.fails(&["serve", "--api-url", "ftp://here"], Some(TOKEN), "is not an address").await;
    let nowhere = "sqlite:///nowhere/at/all.sqlite";
    place.fails(&["serve", "--database", nowhere], Some(TOKEN), "the database cannot be opened").await;
    std::fs::write(place.folder.path().join("bad.toml"), SAMPLE.replacen("level", "levle", 1)).expect("writes");
    place.fails(&["check", "--config", "bad.toml"], None, "levle").await;
}

#[tokio::test]
async fn a_refused_token_is_final() {
    let place = Place::new();
    let server = RehearsalServer::start(RehearsalConfig::default()).await.expect("starts");
    let arguments = ["serve", "--api-url", server.api_url().as_str()].map(str::to_owned);
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    place.fails(&arguments, Some(TOKEN), "does not accept the token").await;
    server.shutdown().await;
}

#[tokio::test]
async fn an_unreachable_service_is_waited_for() {
    let place = Place::new();
    // Nobody listens on the discard port of this machine.
    let mut command = place.command(&["serve", "--api-url", "http://127.0.0.1:9"]);
    let mut child = command.env("PINSET_TOKEN", TOKEN).stderr(Stdio::piped()).spawn().expect("starts");
    let mut lines = BufReader::new(child.stderr.take().expect("piped")).lines();
    let mut tries = 0;
    while tries < 2 {
        let line = tokio::time::timeout(Duration::from_secs(30), lines.next_line()).await.expect("it says so");
        let line = line.expect("reads").expect("it goes on");
        assert!(!line.contains(TOKEN), "the token is in the log: {line}");
        tries += u32::from(line.contains("does not answer; trying again"));
    }
    assert!(child.try_wait().expect("asks").is_none(), "it must not give up");
}

#[tokio::test]
async fn a_good_farm_is_called_good() {
    let place = Place::new();
    let url = format!("sqlite://{}", place.folder.path().join("pinset.sqlite").display());
    Store::open(&url).await.expect("makes it").close().await;
    let output = place.run(&["check"], None).await;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success() && said.contains("database: good"), "{said}");
    let output = place.run(&["sample-config"], None).await;
    assert_eq!(String::from_utf8_lossy(&output.stdout), SAMPLE);
    for arguments in [&["--help"][..], &["serve", "--help"], &["check", "--help"], &["completions", "bash"]] {
        let output = place.run(arguments, None).await;
        assert!(output.status.success() && output.stdout.len() > 100, "{arguments:?}");
    }
}
