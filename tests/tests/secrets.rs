//! The program's token is in nothing it prints: not in a panic, not in the finest log, not in an error with the address.

use bot_api_local::{RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use std::process::Stdio;
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const SECRET: &str = "AAE-a-secret_of-the-right-form";

fn command(folder: &tempfile::TempDir, api_url: &str) -> Command {
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE).expect("writes");
    let mut command = Command::new(PROGRAM);
    command.args(["serve", "--api-url", api_url]).current_dir(folder.path()).stdin(Stdio::null()).kill_on_drop(true);
    command.env_remove("PINSET_CONFIG").env_remove("PINSET_DATABASE");
    command.env("PINSET_TOKEN", format!("123456:{SECRET}"));
    command
}

#[tokio::test]
async fn a_panic_does_not_say_the_token() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    let address = format!("{}bot123456:{SECRET}/getMe", server.api_url());
    let mut program = command(&folder, server.api_url().as_str());
    let program = program.env("PINSET_UNDER_TEST_PANICS", &address).env("RUST_BACKTRACE", "1").output();
    let output = tokio::time::timeout(Duration::from_secs(60), program).await??;
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(said.contains("panicked at") && said.contains("bot[token]/getMe"), "{said}");
    assert!(said.contains("does not accept the token"), "the service refused it: {said}");
    assert!(!said.contains(SECRET), "{said}");
    server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn the_finest_log_of_a_failing_call_does_not_say_the_token() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    // Nobody listens on the discard port of this machine.
    let mut program = command(&folder, "http://127.0.0.1:9");
    let mut child = program.env("RUST_LOG", "trace").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    let mut lines = BufReader::new(child.stderr.take().expect("piped")).lines();
    let (mut failures, mut read) = (0, Vec::new());
    while failures < 2 {
        let line = tokio::time::timeout(Duration::from_secs(60), lines.next_line()).await??.expect("it goes on");
        assert!(!line.contains(SECRET), "{line}");
        failures += u32::from(line.contains("does not answer; trying again"));
        read.push(line);
    }
    assert!(read.iter().any(|line| line.contains("127.0.0.1:9")), "the log tells of the call: {read:#?}");
    child.kill().await?;
    Ok(())
}
