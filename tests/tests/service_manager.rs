//! What the machine's service manager hears, in the protocol of sd_notify(3): ready, alive while all is well, stopping.

use anyhow::{Context, ensure};
use bot_api_local::{RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use std::process::Stdio;
use std::time::Duration;
use tokio::net::UnixDatagram;
use tokio::process::{Child, Command};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
/// How long, in real time, the program may take before a test says that it hangs.
const PATIENCE: Duration = Duration::from_secs(60);

/// The program under a manager that restarts it when it has been silent for three tenths of a second.
struct Managed {
    child: Child,
    manager: UnixDatagram,
    folder: tempfile::TempDir,
    _server: RehearsalServer,
}

impl Managed {
    async fn start() -> anyhow::Result<Managed> {
        let folder = tempfile::tempdir()?;
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("pinset.toml"), SAMPLE)?;
        let server = RehearsalServer::start(RehearsalConfig::default()).await?;
        let manager = UnixDatagram::bind(at("manager"))?;
        let child = Command::new(PROGRAM)
            .args(["serve", "--api-url", server.api_url().as_str(), "--database"])
            .arg(format!("sqlite://{}", at("farm.sqlite").display()))
            .current_dir(folder.path())
            .env_remove("PINSET_CONFIG")
            .env("PINSET_TOKEN", server.token())
            .env("NOTIFY_SOCKET", at("manager"))
            .env("WATCHDOG_USEC", "300000")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .kill_on_drop(true)
            .spawn()?;
        Ok(Managed { child, manager, folder, _server: server })
    }

    /// The next thing the manager is told.
    async fn told(&self) -> anyhow::Result<String> {
        let mut bytes = [0; 4096];
        let heard = tokio::time::timeout(PATIENCE, self.manager.recv(&mut bytes)).await.context("silence")??;
        Ok(String::from_utf8(bytes[..heard].to_vec())?)
    }

    /// The first thing told that holds `words`.
    async fn until(&self, words: &str) -> anyhow::Result<String> {
        loop {
            let told = self.told().await?;
            if told.contains(words) {
                return Ok(told);
            }
        }
    }
}

#[tokio::test]
async fn a_manager_hears_when_it_is_ready_alive_and_stopping() -> anyhow::Result<()> {
    let mut managed = Managed::start().await?;
    let first = managed.told().await?;
    assert!(first.contains("READY=1\n") && first.contains("STATUS=listening as @rehearsal_bot"), "{first:?}");
    for _ in 0..3 {
        managed.until("WATCHDOG=1").await?;
    }
    let process = managed.child.id().context("it runs")?.to_string();
    ensure!(Command::new("kill").args(["-TERM", &process]).status().await?.success(), "it was not asked to stop");
    managed.until("STOPPING=1").await?;
    let ended = tokio::time::timeout(PATIENCE, managed.child.wait()).await.context("it goes on")??;
    assert!(ended.success(), "{ended}");
    Ok(())
}

#[tokio::test]
async fn the_watchdog_is_not_fed_once_the_database_is_gone() -> anyhow::Result<()> {
    let mut managed = Managed::start().await?;
    managed.until("WATCHDOG=1").await?;
    std::fs::remove_file(managed.folder.path().join("farm.sqlite"))?;
    // It ends rather than write where nobody finds it again; the manager starts it anew.
    let ended = tokio::time::timeout(PATIENCE, managed.child.wait()).await.context("it goes on")??;
    assert!(!ended.success(), "{ended}");
    let mut heard = Vec::new();
    let mut bytes = [0; 4096];
    while let Ok(length) = managed.manager.try_recv(&mut bytes) {
        heard.push(String::from_utf8_lossy(&bytes[..length]).into_owned());
    }
    let gone = heard.iter().position(|told| told.contains("STATUS=database: ") || told.contains("STOPPING=1"));
    let after = &heard[gone.unwrap_or(heard.len())..];
    assert!(!after.iter().any(|told| told.contains("WATCHDOG=1")), "{heard:?}");
    Ok(())
}
