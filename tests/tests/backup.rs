//! Backups of a running farm by the command line, back in by the command line; scheduled ones and how they are rotated.

use pinset::backups;
use pinset::config::{Config, SAMPLE};
use pinset_tests::farm::{START, joined, joined_at};
use scheduler::store::outbox::{self, Urgency};
use scheduler::store::{Store, orders, people};
use std::path::Path;
use std::process::Output;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");

async fn pinset(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = tokio::process::Command::new(PROGRAM);
    command.args(arguments).current_dir(folder).env_remove("PINSET_DATABASE").env_remove("PINSET_CONFIG");
    command.output().await.expect("it runs")
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

#[tokio::test]
async fn a_running_farm_is_backed_up_restored_and_exported() -> anyhow::Result<()> {
    let farm = joined().await?;
    farm.stage.say(farm.ada, "/people").await?;
    farm.stage.press(farm.ada, "New restaurant").await?;
    farm.stage.say(farm.ada, "=HYPERLINK(\"x\")").await?;
    farm.stage.say(farm.heron, "5 lb shiitake for Thursday").await?;
    farm.stage.press_first(farm.heron, "Yes").await?;
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
    let database = farm.stage.database();
    let written = pinset(folder.path(), &["backup", "farm.jsonl.gz", "--database", database]).await;
    assert!(written.status.success(), "{}", said(&written));
    let again = pinset(folder.path(), &["backup", "farm.jsonl.gz", "--database", database]).await;
    assert!(!again.status.success() && said(&again).contains("exists already"), "{}", said(&again));

    let restored = pinset(folder.path(), &["restore", "farm.jsonl.gz", "--database", "sqlite://new.sqlite"]).await;
    assert!(restored.status.success(), "{}", said(&restored));
    let store = Store::open(&format!("sqlite://{}", folder.path().join("new.sqlite").display())).await?;
    let (mut new, mut old) = (store.begin_reading().await?, farm.stage.engine.store.begin_reading().await?);
    assert_eq!(people::everybody(&mut new).await?, people::everybody(&mut old).await?);
    let (from, to) = ("2026-01-01".parse()?, "2027-12-31".parse()?);
    let ordered = orders::one_off_between(&mut new, from, to).await?;
    assert_eq!(ordered, orders::one_off_between(&mut old, from, to).await?);
    assert_eq!(ordered.len(), 1);
    drop((new, old));
    store.close().await;
    let checked = pinset(folder.path(), &["check", "--database", "sqlite://new.sqlite"]).await;
    assert!(checked.status.success(), "{}", said(&checked));
    let refused = pinset(folder.path(), &["restore", "farm.jsonl.gz", "--database", "sqlite://new.sqlite"]).await;
    assert!(!refused.status.success() && said(&refused).contains("--replace"), "{}", said(&refused));

    let exported = pinset(folder.path(), &["export", "sheets", "--database", database]).await;
    assert!(exported.status.success(), "{}", said(&exported));
    let buyers = std::fs::read_to_string(folder.path().join("sheets/buyer.csv"))?;
    // OWASP, "CSV Injection": a cell that begins with an equals sign is disarmed with an apostrophe.
    assert!(buyers.contains("\"'=HYPERLINK(\"\"x\"\")\""), "{buyers}");
    let lines = std::fs::read_to_string(folder.path().join("sheets/order_line.csv"))?;
    assert!(lines.contains("2026-06-04,shiitake,2268,2026-06-0"), "{lines}");
    farm.stage.close().await;
    Ok(())
}

/// What waited when the backup was made went out after that: it is set aside unless somebody says otherwise.
#[tokio::test]
async fn a_restored_farm_does_not_say_again_what_waited() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let at = |name: &str| format!("sqlite://{}", folder.path().join(name).display());
    let store = Store::open(&at("old.sqlite")).await?;
    let mut tx = store.begin().await?;
    outbox::put(&mut tx, 2001, Urgency::Notice, "{}", START).await?;
    let sent = outbox::put(&mut tx, 2002, Urgency::Notice, "{}", START).await?;
    outbox::mark_sent(&mut tx, sent, START).await?;
    tx.commit().await?;
    store.close().await;
    let written = pinset(folder.path(), &["backup", "farm.jsonl.gz", "--database", "sqlite://old.sqlite"]).await;
    assert!(written.status.success(), "{}", said(&written));
    for (database, manner, waiting) in [("quiet.sqlite", None, 0), ("loud.sqlite", Some("--send-waiting"), 1)] {
        let url = format!("sqlite://{database}");
        let arguments = ["restore", "farm.jsonl.gz", "--database", &url].into_iter().chain(manner);
        let restored = pinset(folder.path(), &arguments.collect::<Vec<_>>()).await;
        assert!(restored.status.success(), "{}", said(&restored));
        let is_told = said(&restored).contains("messages that waited, 1;");
        assert_eq!(is_told, waiting == 0, "{}", said(&restored));
        let store = Store::open(&at(database)).await?;
        let depth = outbox::depth(&mut store.begin_reading().await?).await?;
        assert_eq!((depth.waiting, depth.set_aside), (waiting, 1 - waiting));
        store.close().await;
    }
    Ok(())
}

#[tokio::test]
async fn scheduled_backups_are_kept_as_many_as_configured() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let mut config = Config::parse(SAMPLE)?;
    config.backup.keep = 2;
    let farm = joined_at(config, START).await?;
    std::fs::write(folder.path().join("somebody-else.txt"), "stays")?;
    let times: Vec<_> = (0..4).map(|day| START.plus_minutes(day * 24 * 60)).collect();
    for now in &times {
        backups::write_and_rotate(&farm.stage.engine, folder.path(), *now).await?;
    }
    let kept: Vec<_> = backups::written(folder.path()).into_iter().map(|(at, _)| at).collect();
    assert_eq!(kept, times[2..]);
    assert!(folder.path().join("somebody-else.txt").exists());
    assert_eq!(std::fs::read_dir(folder.path())?.count(), 3, "nothing half written is left behind");
    backups::write_and_rotate(&farm.stage.engine, &folder.path().join("somebody-else.txt/x"), START)
        .await
        .expect_err("no such folder");
    farm.stage.close().await;
    Ok(())
}
