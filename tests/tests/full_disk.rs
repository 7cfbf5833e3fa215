//! The disk is full, or fails, while orders pour in: whatever was answered is there after a clean stop, the program goes on by
//! itself when there is room again, and ends when a disk keeps failing.

use anyhow::{Context, ensure};
use pinset::config::{Config, SAMPLE};
use pinset::stage::Stage;
use pinset::watch::health;
use pinset_tests::farm::START;
use pinset_tests::narrow_disk::NarrowDisk;
use pinset_tests::pouring::{Contact, config, contacts, introduce, pour_out, pour_while};
use pinset_tests::process::{Manner, Serving};
use pinset_tests::simulation::run::template_start;
use pinset_tests::simulation::setting::Place;
use scheduler::store::{Store, audit};
use std::path::PathBuf;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
/// How often there is no room for a moment.
const MOMENTS: usize = 4;
/// Answers between two of them.
const ANSWERS: usize = 6;

struct Farm {
    disk: NarrowDisk,
    serving: Serving,
    file: PathBuf,
}

impl Farm {
    /// The farm of the simulation, served from this disk.
    async fn on(disk: NarrowDisk) -> anyhow::Result<Farm> {
        let place = Place::sqlite(template_start()).await?;
        let made = place.farm(1).await?;
        let file = disk.folder().join("farm.sqlite");
        std::fs::copy(made.url.trim_start_matches("sqlite://"), &file)?;
        made.close().await?;
        place.close().await?;
        let (url, config) = (format!("sqlite://{}", file.display()), config());
        let manner = Manner { config: &config, database: Some(&url), survives_file_limit: true, ..Manner::default() };
        let serving = Serving::start_in(PROGRAM, START, manner).await?;
        introduce(&serving);
        serving.settle().await?;
        Ok(Farm { disk, serving, file })
    }

    fn fill(&self) -> anyhow::Result<()> {
        self.disk.fill(self.serving.process()?)
    }

    fn failures(&self) -> usize {
        self.serving.log().matches("the database failed").count()
    }

    /// Orders pour in until `count` more are answered.
    async fn pour_until_answered(&self, contacts: &mut [Contact], count: usize) -> anyhow::Result<()> {
        let enough = answers(contacts) + count;
        pour_while(&self.serving, contacts, |contacts| answers(contacts) < enough).await
    }

    /// Orders pour in until the program has failed at the disk.
    async fn pour_until_it_fails(&self, contacts: &mut [Contact]) -> anyhow::Result<()> {
        let before = self.failures();
        pour_while(&self.serving, contacts, |_| self.failures() == before).await
    }

    /// What a new start finds is all that was answered.
    async fn ends_with_all(self, contacts: &[Contact]) -> anyhow::Result<()> {
        self.serving.stop().await?;
        let store = Store::open(&format!("sqlite://{}", self.file.display())).await?;
        for contact in contacts {
            contact.compare(&store).await?;
        }
        assert_eq!(audit::faults(&mut store.begin_reading().await?).await?, []);
        store.close().await;
        Ok(())
    }
}

fn answers(contacts: &[Contact]) -> usize {
    contacts.iter().map(|contact| contact.answers).sum()
}

/// No room for a moment, again and again.
async fn without_room_for_moments(disk: NarrowDisk) -> anyhow::Result<()> {
    let farm = Farm::on(disk).await?;
    let mut contacts = contacts();
    for _ in 0..MOMENTS {
        farm.pour_until_answered(&mut contacts, ANSWERS).await?;
        farm.fill()?;
        farm.pour_until_it_fails(&mut contacts).await?;
        farm.disk.empty(farm.serving.process()?)?;
    }
    pour_out(&farm.serving, &mut contacts).await?;
    farm.serving.settle().await?;
    farm.serving.stop_cleanly().await?;
    println!("{} answers, {} failures of the disk", answers(&contacts), farm.failures());
    ensure!(answers(&contacts) > MOMENTS * ANSWERS, "too little happened");
    farm.ends_with_all(&contacts).await
}

#[tokio::test]
async fn what_was_answered_around_a_full_disk_is_there() -> anyhow::Result<()> {
    let Some(disk) = NarrowDisk::own()? else {
        eprintln!("skipped: this user may not mount a disk in memory");
        return Ok(());
    };
    without_room_for_moments(disk).await
}

#[tokio::test]
async fn what_was_answered_around_a_failing_disk_is_there() -> anyhow::Result<()> {
    without_room_for_moments(NarrowDisk::limited()?).await
}

#[tokio::test]
async fn health_says_that_the_disk_is_full_until_there_is_room() -> anyhow::Result<()> {
    let Some(disk) = NarrowDisk::own()? else {
        eprintln!("skipped: this user may not mount a disk in memory");
        return Ok(());
    };
    let url = format!("sqlite://{}", disk.folder().join("farm.sqlite").display());
    let config = SAMPLE.replace("least_free_mb = 200", "least_free_mb = 1");
    let stage = Stage::build(Config::parse(&config)?, START, &url).await?;
    assert_eq!(health::faults(&stage.engine).await, [""; 0]);
    disk.fill(rustix::process::getpid())?;
    let mut faults = Vec::new();
    // What is left of the log's last page may take a few commits.
    for _ in 0..10 {
        faults = health::faults(&stage.engine).await;
    }
    let has = |beginning: &str| faults.iter().any(|fault| fault.starts_with(beginning));
    assert!(has("disk: 0 MB are free") && has("database: the database failed"), "{faults:?}");
    disk.empty(rustix::process::getpid())?;
    assert_eq!(health::faults(&stage.engine).await, [""; 0]);
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_disk_that_keeps_failing_ends_the_program() -> anyhow::Result<()> {
    let farm = Farm::on(NarrowDisk::limited()?).await?;
    let mut contacts = contacts();
    farm.pour_until_answered(&mut contacts, ANSWERS).await?;
    farm.fill()?;
    farm.pour_until_it_fails(&mut contacts).await?;
    let status = farm.serving.ends().await?;
    let said = farm.serving.log();
    assert_eq!(status.code(), Some(1), "{said}");
    let last = said.lines().rfind(|line| line.starts_with("pinset: ")).context("it says why")?;
    assert!(last.contains("the database is lost: the disk keeps failing"), "{last}");
    farm.ends_with_all(&contacts).await
}
