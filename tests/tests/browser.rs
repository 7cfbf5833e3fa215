//! The rehearsal page in a real browser: the distribution's Chromium, driven from `tests/browser`. Where there is none this
//! says so and does nothing, but never in CI.

use pinset::rehearsal::{Opening, RehearsalPage, Set};
use reqwest::multipart::{Form, Part};
use std::path::{Path, PathBuf};
use std::process::Stdio;

/// A picture of one pixel (PNG, third edition, 11.2).
const PIXEL: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x06\0\0\0\x1f\x15\xc4\x89\
\0\0\0\rIDATx\x9cc\xf8\xff\xff?\0\x05\xfe\x02\xfe\xdc\xccY\xe7\0\0\0\0IEND\xaeB`\x82";

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

async fn check(script: &str, arguments: &[&str], folder: &Path, page: &RehearsalPage) -> anyhow::Result<()> {
    let pictures = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pictures");
    std::fs::create_dir_all(&pictures)?;
    let mut node = tokio::process::Command::new("node");
    node.arg(folder.join(script)).arg(page.url()).arg(&pictures).args(arguments).kill_on_drop(true);
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
    send_picture(&set).await?;
    let page = RehearsalPage::open(set, 0).await?;
    let done = check("page.js", &[], &checks, &page).await;
    page.close().await?;
    done
}

/// Sends Mina a picture as a bot would: the page must show it whatever the bot draws at present.
async fn send_picture(set: &Set) -> anyhow::Result<()> {
    let server = &set.stage.server;
    let url = format!("{}bot{}/sendPhoto", server.api_url(), server.token());
    let photo = Part::bytes(PIXEL).file_name("pixel.png");
    let form = Form::new().text("chat_id", "2001").text("caption", "What is coming").part("photo", photo);
    let client = reqwest::Client::builder().no_proxy().build()?;
    client.post(url).multipart(form).send().await?.error_for_status()?;
    Ok(())
}

/// Order, cut-off, shortage answered, market return, offer taken by another, drop agreed, reminder seen.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_week_is_played_in_both_languages() -> anyhow::Result<()> {
    let Some(checks) = browser_checks() else { return Ok(()) };
    for language in ["en", "es"] {
        let folder = tempfile::tempdir()?;
        let page = RehearsalPage::open(Set::up(&Opening::Scenario, None, folder.path()).await?, 0).await?;
        let done = check("week.js", &[language], &checks, &page).await;
        page.close().await?;
        done?;
    }
    Ok(())
}
