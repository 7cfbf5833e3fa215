//! A second `serve` on the same database is turned away with a sentence and disturbs nothing; after the first was killed
//! another starts at once.

use pinset_tests::farm::START;
use pinset_tests::process::{Kills, Serving};
use std::process::Stdio;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ZOE: i64 = 3001;

#[tokio::test]
async fn a_second_program_is_turned_away() -> anyhow::Result<()> {
    let serving = Serving::start(PROGRAM, START, Kills::Never).await?;
    serving.server.add_user(ZOE, "Zoe", Some("en"));
    serving.say(ZOE, "hello").await?;
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), pinset::config::SAMPLE)?;
    let second = tokio::process::Command::new(PROGRAM)
        .args(["serve", "--api-url", serving.server.api_url().as_str(), "--database", serving.database()])
        .current_dir(folder.path())
        .env("PINSET_TOKEN", serving.server.token())
        .env_remove("PINSET_CONFIG")
        .stdin(Stdio::null())
        .output()
        .await?;
    let said = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(!second.status.success());
    assert!(said.contains("another program is serving the farm from this database already"), "{said}");
    serving.kill()?;
    serving.spawn()?;
    serving.say(ZOE, "hello again").await?;
    let answers = serving.server.chat(ZOE).iter().filter(|message| message.from_bot()).count();
    assert_eq!(answers, 2, "{}", serving.log());
    Ok(())
}
