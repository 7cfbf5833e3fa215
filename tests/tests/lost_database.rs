//! The database's file is deleted, replaced or shortened under the running program: it stops answering, says why and ends,
//! so that nothing is acknowledged that nobody will find again.

use pinset::config::{Config, SAMPLE};
use pinset::stage::Stage;
use pinset::watch::health;
use pinset_tests::farm::START;
use pinset_tests::process::{Kills, Serving};
use std::path::Path;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ADA: i64 = 1001;

/// After `harm` the program ends by itself and says `why`; nobody is answered any more.
async fn ends_after(harm: impl FnOnce(&Path) -> std::io::Result<()>, why: &str) -> anyhow::Result<()> {
    let serving = Serving::start(PROGRAM, START, Kills::Never).await?;
    serving.claim(ADA, "Ada").await?;
    let before = serving.read(ADA);
    harm(&serving.file())?;
    serving.server.say(ADA, ADA, "/people")?;
    let status = serving.ends().await?;
    let said = serving.log();
    assert_eq!(status.code(), Some(1), "{said}");
    let last = said.lines().rfind(|line| line.starts_with("pinset: ")).unwrap_or_default().to_owned();
    assert!(last.contains("the database is lost") && last.contains(why) && last.contains("pinset restore"), "{said}");
    let chat = serving.read(ADA);
    assert_eq!(chat[..chat.len() - 1], before, "the last is the person's own");
    serving.stop().await
}

#[tokio::test]
async fn the_program_ends_when_its_file_is_deleted() -> anyhow::Result<()> {
    ends_after(|file| std::fs::remove_file(file), "is gone").await
}

#[tokio::test]
async fn the_program_ends_when_another_file_takes_its_place() -> anyhow::Result<()> {
    let replace = |file: &Path| {
        let other = file.with_extension("other");
        std::fs::copy(file, &other)?;
        std::fs::rename(other, file)
    };
    ends_after(replace, "another file has taken the place").await
}

#[tokio::test]
async fn the_program_ends_when_its_file_is_cut_short() -> anyhow::Result<()> {
    let cut = |file: &Path| std::fs::File::options().write(true).open(file)?.set_len(0);
    ends_after(cut, "has shortened").await
}

#[tokio::test]
async fn its_health_says_that_the_database_is_lost() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("farm.sqlite");
    let stage = Stage::build(Config::parse(SAMPLE)?, START, &format!("sqlite://{}", file.display())).await?;
    assert_eq!(health::faults(&stage.engine).await, [""; 0]);
    std::fs::remove_file(&file)?;
    let faults = health::faults(&stage.engine).await;
    assert!(faults.iter().any(|fault| fault.starts_with("database: the database is lost: its file")), "{faults:?}");
    stage.close().await;
    Ok(())
}
