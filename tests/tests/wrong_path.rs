//! A wrong path: no command but `serve` makes a database, and `serve` makes none where its configuration's farm had one
//! before, so that restaurants are never answered as strangers. Databases, backups and exports are their owner's alone.

use bot_api_local::{RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with a configuration, and the service.
struct Farm {
    folder: tempfile::TempDir,
    server: RehearsalServer,
}

impl Farm {
    async fn new() -> anyhow::Result<Farm> {
        let folder = tempfile::tempdir()?;
        std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
        Ok(Farm { folder, server: RehearsalServer::start(RehearsalConfig::default()).await? })
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).current_dir(self.folder.path()).stdin(Stdio::null());
        for name in ["PINSET_CONFIG", "PINSET_DATABASE", "PINSET_MARK", "RUST_LOG"] {
            command.env_remove(name);
        }
        command.env("PINSET_TOKEN", self.server.token());
        command
    }

    async fn run(&self, arguments: &[&str]) -> anyhow::Result<Output> {
        let mut command = self.command(arguments);
        Ok(tokio::task::spawn_blocking(move || command.output()).await??)
    }

    fn serve(&self, more: &[&str]) -> Vec<String> {
        let api_url = self.server.api_url();
        ["serve", "--api-url", api_url.as_str()].iter().chain(more).map(|part| (*part).to_owned()).collect()
    }

    /// Serves until it says that it listens; everything it said.
    async fn serves(&self, more: &[&str]) -> anyhow::Result<String> {
        let arguments = self.serve(more);
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let said = self.at("said");
        let out = std::fs::File::create(&said)?;
        let child = self.command(&arguments).stdout(out.try_clone()?).stderr(out).spawn()?;
        let mut child = Killed(child);
        let begun = Instant::now();
        // The mark is left right after the greeting, and names the database that is served.
        let served = if more.iter().any(|part| part.contains("pinste")) { "pinste.sqlite" } else { "pinset.sqlite" };
        let is_marked = || std::fs::read_to_string(self.at("pinset.farm")).is_ok_and(|mark| mark.contains(served));
        let is_up = |text: &str| text.contains("is listening as") && is_marked();
        loop {
            let text = std::fs::read_to_string(&said)?;
            if is_up(&text) {
                return Ok(text);
            }
            anyhow::ensure!(child.0.try_wait()?.is_none() && begun.elapsed() < PATIENCE, "it does not serve: {text}");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// Refuses with one line that holds all of `parts`, and makes nothing.
    async fn refuses(&self, arguments: &[&str], parts: &[&str]) -> anyhow::Result<()> {
        let before = self.files()?;
        let output = self.run(arguments).await?;
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success(), "{arguments:?} ended well");
        for part in parts {
            assert!(said.contains(part), "{arguments:?}: {part:?} is not in {said:?}");
        }
        assert_eq!(self.files()?, before, "{arguments:?}");
        Ok(())
    }

    /// The same for `serve`, which does not even reach the service.
    async fn refuses_to_serve(&self, more: &[&str], parts: &[&str]) -> anyhow::Result<()> {
        let (arguments, calls) = (self.serve(more), self.calls_at_rest().await);
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        self.refuses(&arguments, parts).await?;
        assert_eq!(self.server.calls().len(), calls, "{more:?}");
        Ok(())
    }

    /// How many calls the service has had, once the last of a program that was killed has come in.
    async fn calls_at_rest(&self) -> usize {
        let mut calls = self.server.calls().len();
        loop {
            tokio::time::sleep(Duration::from_millis(100)).await;
            match self.server.calls().len() {
                now if now == calls => return calls,
                now => calls = now,
            }
        }
    }

    fn files(&self) -> anyhow::Result<Vec<PathBuf>> {
        let mut found: Vec<PathBuf> =
            std::fs::read_dir(self.folder.path())?.map(|entry| Ok(entry?.path())).collect::<anyhow::Result<_>>()?;
        // SQLite's own files come and go with who reads.
        found.retain(|path| !path.to_string_lossy().ends_with("-wal") && !path.to_string_lossy().ends_with("-shm"));
        found.sort();
        Ok(found)
    }
}

/// A program that ends with the test.
struct Killed(Child);

impl Drop for Killed {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[tokio::test]
async fn only_serve_makes_a_database_and_says_so() -> anyhow::Result<()> {
    let farm = Farm::new().await?;
    for arguments in [&["check"][..], &["backup", "farm.jsonl.gz"], &["export", "tables"], &["backtest"]] {
        farm.refuses(arguments, &["there is no farm's database at", "pinset.sqlite", "only `pinset serve`"]).await?;
    }
    let said = farm.serves(&[]).await?;
    let made = std::fs::canonicalize(farm.at("pinset.sqlite"))?;
    assert!(said.contains("A new farm begins. Its database is") && said.contains("pinset.sqlite"), "{said} {made:?}");
    assert!(!farm.serves(&[]).await?.contains("A new farm"), "it goes on with the same");
    assert!(farm.run(&["check"]).await?.status.success());
    farm.server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn no_new_farm_begins_at_a_wrong_path() -> anyhow::Result<()> {
    let farm = Farm::new().await?;
    farm.serves(&[]).await?;
    let wrong = ["--database", "sqlite://pinste.sqlite"];
    let last = ["pinste.sqlite", "was last kept at", "pinset.sqlite", "--database"];
    farm.refuses_to_serve(&wrong, &[&last[..], &["--new"]].concat()).await?;
    farm.refuses(&[&["check"], &wrong[..]].concat(), &last).await?;
    // The right file is gone: that is no reason to begin anew either.
    let backup = farm.run(&["backup", "farm.jsonl.gz"]).await?;
    assert!(backup.status.success(), "{backup:?}");
    std::fs::remove_file(farm.at("pinset.sqlite"))?;
    farm.refuses_to_serve(&[], &["there is no farm's database at", "pinset restore"]).await?;
    let restored = farm.run(&["restore", "farm.jsonl.gz"]).await?;
    assert!(restored.status.success() && String::from_utf8_lossy(&restored.stdout).contains("pinset.sqlite"));
    farm.serves(&[]).await?;
    // A new one on purpose, and then the old one is another.
    let said = farm.serves(&[&wrong[..], &["--new"]].concat()).await?;
    assert!(said.contains("A new farm begins"), "{said}");
    farm.refuses_to_serve(&[&wrong[..], &["--new"]].concat(), &["--new begins a new farm, but one is kept"]).await?;
    farm.refuses_to_serve(&[], &["another farm is kept at", "pinset.sqlite", "remove pinset.farm"]).await?;
    farm.refuses(&["backup", "other.jsonl.gz"], &["another farm is kept at"]).await?;
    farm.server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn the_mark_may_lie_elsewhere() -> anyhow::Result<()> {
    let farm = Farm::new().await?;
    farm.refuses_to_serve(&["--mark", "missing/pinset.farm"], &["(--mark) cannot be written", "--new"]).await?;
    std::fs::create_dir(farm.at("state"))?;
    let mut command = farm.command(&[]);
    command.args(farm.serve(&["--mark", "state/pinset.farm"])).stdout(Stdio::null()).stderr(Stdio::null());
    let _serving = Killed(command.spawn()?);
    let begun = Instant::now();
    while !farm.at("state/pinset.farm").exists() {
        anyhow::ensure!(begun.elapsed() < PATIENCE, "no mark is left");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let wrong = ["--mark", "state/pinset.farm", "--database", "sqlite://pinste.sqlite"];
    farm.refuses_to_serve(&wrong, &["pinste.sqlite", "was last kept at"]).await?;
    farm.server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn backups_without_a_database_are_a_farm() -> anyhow::Result<()> {
    let farm = Farm::new().await?;
    let config = SAMPLE.replace("# folder = \"backups\"", "folder = \"backups\"");
    std::fs::write(farm.at("pinset.toml"), config)?;
    std::fs::create_dir(farm.at("backups"))?;
    std::fs::write(farm.at("backups/pinset-2026-06-01T020000Z.jsonl.gz"), "")?;
    farm.refuses_to_serve(&[], &["the backup folder holds backups of a farm", "pinset restore", "--new"]).await?;
    farm.serves(&["--new"]).await?;
    farm.server.shutdown().await;
    Ok(())
}

#[cfg(unix)]
#[tokio::test]
async fn only_the_owner_reads_what_is_written() -> anyhow::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = |path: &Path| -> anyhow::Result<u32> { Ok(std::fs::metadata(path)?.permissions().mode() & 0o777) };
    let farm = Farm::new().await?;
    farm.serves(&[]).await?;
    for arguments in [["backup", "farm.jsonl.gz"], ["export", "tables"], ["restore", "farm.jsonl.gz"]] {
        let arguments = match arguments[0] {
            "restore" => [&arguments[..], &["--database", "sqlite://again.sqlite"]].concat(),
            _ => arguments.to_vec(),
        };
        assert!(farm.run(&arguments).await?.status.success(), "{arguments:?}");
    }
    // An export that is written over keeps nothing of who could read it.
    std::fs::set_permissions(farm.at("tables/setting.csv"), PermissionsExt::from_mode(0o644))?;
    assert!(farm.run(&["export", "tables"]).await?.status.success());
    for name in ["pinset.sqlite", "again.sqlite", "farm.jsonl.gz", "pinset.farm", "tables/setting.csv"] {
        assert_eq!(mode(&farm.at(name))?, 0o600, "{name}");
    }
    assert_eq!(mode(&farm.at("tables"))?, 0o700);
    farm.server.shutdown().await;
    Ok(())
}
