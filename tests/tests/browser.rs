//! The rehearsal page in a real browser: the distribution's Chromium, driven from `tests/browser`. Where there is none this
//! says so and does nothing, but never in CI.

use pinset::rehearsal::page::{Opening, RehearsalPage, Set};
use std::path::{Path, PathBuf};
use std::process::Stdio;

/// The folder of the browser's checks, when all they need is there.
fn browser_checks() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("browser");
    let chromium = std::env::var("PINSET_CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned());
    let node = std::process::Command::new("node").arg("--version").stdout(Stdio::null()).status();
    let missing = [
        (!Path::new(&chromium).exists(), "no Chromium: apt-get install chromium"),
        (!node.is_ok_and(|status| status.success()), "no node: apt-get install nodejs npm"),
        (!folder.join("node_modules/playwright-core").exists(), "no packages: npm ci in tests/browser"),
    ];
    let Some((_, why)) = missing.into_iter().find(|(is_missing, _)| *is_missing) else { return Some(folder) };
    assert!(std::env::var_os("CI").is_none(), "the browser's checks must run in CI: {why}");
    eprintln!("skipped, no browser: {why}");
    None
}

async fn check(script: &str, folder: &Path, page: &RehearsalPage) -> anyhow::Result<()> {
    let pictures = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pictures");
    std::fs::create_dir_all(&pictures)?;
    let mut node = tokio::process::Command::new("node");
    node.arg(folder.join(script)).arg(page.url()).arg(&pictures).kill_on_drop(true);
    let output = node.output().await?;
    println!("{}", String::from_utf8_lossy(&output.stdout));
    anyhow::ensure!(output.status.success(), "{script}: {}", String::from_utf8_lossy(&output.stderr));
    Ok(())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_page_works_for_everybody() -> anyhow::Result<()> {
    let Some(checks) = browser_checks() else { return Ok(()) };
    let folder = tempfile::tempdir()?;
    let set = Set::up(&Opening::Scenario, None, folder.path()).await?;
    let page = RehearsalPage::open(set, 0).await?;
    let done = check("page.js", &checks, &page).await;
    page.close().await?;
    done
}
