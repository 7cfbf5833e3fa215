//! `pinset check`: a sound database has no fault, and every fault planted into it is found and named, on SQLite and, where
//! `PINSET_TEST_POSTGRES` names a server, on PostgreSQL. What can be mended without a person is, after a backup, and then gone.

use anyhow::Context;
use pinset::config::SAMPLE;
use pinset_tests::plants::{self, In, Plant};
use pinset_tests::simulation::Simulation;
use pinset_tests::simulation::counts::Counts;
use pinset_tests::simulation::run::template_start;
use pinset_tests::simulation::setting::Place;
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::store::audit::{self, Fault, Ground};
use scheduler::store::{Store, backup};
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, SqliteConnection};
use std::path::{Path, PathBuf};
use std::process::Output;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ZONE: chrono_tz::Tz = chrono_tz::America::Chicago;
/// The first farm that is looked at: its month has deliveries, claims and drops to plant faults in, or the next one's has.
const FIRST_SEED: u64 = 3;
const WEEKS: u32 = 4;

/// A sound month, and when it ends.
struct Month {
    _folder: tempfile::TempDir,
    file: PathBuf,
    now: UtcSeconds,
    today: LocalDate,
}

async fn month() -> anyhow::Result<Month> {
    let place = Place::sqlite(template_start()).await?;
    let monday: LocalDate = "2026-06-01".parse()?;
    let at = |day: LocalDate| instant_at(day, chrono::NaiveTime::MIN, ZONE);
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("sound.sqlite");
    for seed in FIRST_SEED..FIRST_SEED + 60 {
        let database = place.farm(seed).await?;
        let mut simulation = Simulation::begin(seed, &database, at(monday)).await.map_err(anyhow::Error::msg)?;
        for week in 0..WEEKS {
            let begins = monday + chrono::Days::new(u64::from(week) * 7);
            simulation.week(week, begins).await.map_err(anyhow::Error::msg)?;
        }
        simulation.end().await;
        let Counts { deliveries, claims, drops, .. } = simulation.counts;
        let has_all = deliveries > 0 && claims > 0 && drops > 0;
        if has_all {
            let mut connection = SqliteConnection::connect(&database.url).await?;
            let copy = format!("VACUUM INTO '{}'", file.display());
            connection.execute(AssertSqlSafe(copy)).await?;
            connection.close().await?;
        }
        database.close().await?;
        if has_all {
            println!("the month of seed {seed}");
            place.close().await?;
            let today = monday + chrono::Days::new(u64::from(WEEKS) * 7);
            return Ok(Month { _folder: folder, file, now: at(today), today });
        }
    }
    anyhow::bail!("no month has everything")
}

impl Month {
    async fn examine(&self, store: &Store) -> anyhow::Result<Vec<Fault>> {
        let ground = Ground { now: self.now, zone: ZONE, reads: &pinset::stored::reads };
        Ok(audit::examine(store, &ground).await?)
    }

    fn statements(&self, plant: &Plant) -> Vec<String> {
        let fill = |text: &&str| {
            text.replace("{now}", &self.now.get().to_string()).replace("{today}", &self.today.to_string())
        };
        plant.statements.iter().map(fill).collect()
    }

    /// What is wrong with a plant's result, if anything.
    async fn judge(&self, plant: &Plant, url: &str) -> anyhow::Result<Option<String>> {
        let store = Store::open_as_is(url).await?;
        let faults = self.examine(&store).await?;
        let told = |faults: &[Fault]| faults.iter().map(|fault| fault.what.clone()).collect::<Vec<_>>().join("\n    ");
        let found = faults.iter().find(|fault| fault.what.contains(plant.found));
        let verdict = match found {
            None => Some(format!("{}: {:?} is not in\n    {}", plant.name, plant.found, told(&faults))),
            Some(fault) if fault.mend.len() < 15 => Some(format!("{}: nobody knows what to do", plant.name)),
            Some(fault) if fault.by_itself.is_some() != plant.is_mended => {
                Some(format!("{}: whether it is mended by itself is not as listed", plant.name))
            }
            Some(_) if plant.is_mended => {
                audit::mend(&store, &faults).await?;
                let left: Vec<Fault> = self.examine(&store).await?;
                let is_clean = left.iter().all(|fault| fault.by_itself.is_none());
                let is_gone = !left.iter().any(|fault| fault.what.contains(plant.found));
                (!is_clean || !is_gone).then(|| format!("{}: left after mending:\n    {}", plant.name, told(&left)))
            }
            Some(_) => None,
        };
        store.close().await;
        Ok(verdict)
    }
}

async fn plant_in_sqlite(file: &Path, statements: &[String]) -> anyhow::Result<()> {
    let options = SqliteConnectOptions::new().filename(file).foreign_keys(false);
    let mut connection = SqliteConnection::connect_with(&options).await?;
    connection.execute("PRAGMA ignore_check_constraints = ON").await?;
    for statement in statements {
        connection.execute(AssertSqlSafe(statement.clone())).await.with_context(|| statement.clone())?;
    }
    Ok(connection.close().await?)
}

async fn plant_in_postgres(url: &str, plant: &Plant, statements: &[String]) -> anyhow::Result<()> {
    let mut connection = PgConnection::connect(url).await?;
    // References are triggers, which a replica does not fire (PostgreSQL documentation, "session_replication_role").
    connection.execute("SET session_replication_role = replica").await?;
    for (table, rule) in plant.against {
        connection.execute(AssertSqlSafe(format!("ALTER TABLE {table} DROP CONSTRAINT {rule}"))).await?;
    }
    for statement in statements {
        connection.execute(AssertSqlSafe(statement.clone())).await.with_context(|| statement.clone())?;
    }
    Ok(connection.close().await?)
}

#[tokio::test]
async fn every_planted_fault_is_found_and_a_sound_month_has_none() -> anyhow::Result<()> {
    let month = month().await?;
    let sound = format!("sqlite://{}", month.file.display());
    let store = Store::open(&sound).await?;
    assert_eq!(month.examine(&store).await?, [], "a sound month");
    store.close().await;
    let mut wrong = Vec::new();
    let mut planted = 0;
    let folder = tempfile::tempdir()?;
    for (number, plant) in plants::all().enumerate().filter(|(_, plant)| plant.is_in != In::Postgres) {
        let file = folder.path().join(format!("{number}.sqlite"));
        std::fs::copy(&month.file, &file)?;
        plant_in_sqlite(&file, &month.statements(plant)).await.context(plant.name)?;
        wrong.extend(month.judge(plant, &format!("sqlite://{}", file.display())).await.context(plant.name)?);
        planted += 1;
    }
    println!("SQLite: {planted} planted, {} missed", wrong.len());
    assert!(wrong.is_empty() && planted >= 60, "{planted} planted:\n{}", wrong.join("\n"));
    on_postgres(&month).await
}

async fn on_postgres(month: &Month) -> anyhow::Result<()> {
    let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
        eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
        return Ok(());
    };
    let template = format!("pinset_check_{}", std::process::id());
    let (front, _) = server.rsplit_once('/').context("a URL with a database")?;
    let mut admin = PgConnection::connect(&server).await?;
    admin.execute(AssertSqlSafe(format!("CREATE DATABASE {template}"))).await?;
    let url = format!("{front}/{template}");
    let sqlite = Store::open(&format!("sqlite://{}", month.file.display())).await?;
    let (bytes, _) = backup::write(&sqlite, Vec::new(), month.now).await?;
    sqlite.close().await;
    backup::restore(bytes.as_slice(), &url, true).await?;
    let store = Store::open(&url).await?;
    assert_eq!(month.examine(&store).await?, [], "a sound month on PostgreSQL");
    store.close().await;
    let mut wrong = Vec::new();
    let mut planted = 0;
    for (number, plant) in plants::all().enumerate().filter(|(_, plant)| plant.is_in != In::Sqlite) {
        let name = format!("{template}_{number}");
        admin.execute(AssertSqlSafe(format!("CREATE DATABASE {name} TEMPLATE {template}"))).await?;
        let url = format!("{front}/{name}");
        plant_in_postgres(&url, plant, &month.statements(plant)).await.context(plant.name)?;
        wrong.extend(month.judge(plant, &url).await.context(plant.name)?);
        admin.execute(AssertSqlSafe(format!("DROP DATABASE {name}"))).await?;
        planted += 1;
    }
    admin.execute(AssertSqlSafe(format!("DROP DATABASE {template}"))).await?;
    println!("PostgreSQL: {planted} planted, {} missed", wrong.len());
    assert!(wrong.is_empty() && planted >= 60, "{planted} planted:\n{}", wrong.join("\n"));
    Ok(())
}

/// The command itself, on a small database with one fault that it mends and one that it only names.
#[tokio::test]
async fn the_command_mends_what_it_may_after_a_backup_and_names_the_rest() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
    let file = folder.path().join("pinset.sqlite");
    Store::open(&format!("sqlite://{}", file.display())).await?.close().await;
    let check = async |arguments: &[&str]| -> anyhow::Result<(Output, String)> {
        let mut command = tokio::process::Command::new(PROGRAM);
        command.arg("check").args(arguments).current_dir(folder.path());
        for name in ["PINSET_CONFIG", "PINSET_DATABASE"] {
            command.env_remove(name);
        }
        let output = command.output().await?;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        Ok((output, said))
    };
    let (output, said) = check(&[]).await?;
    assert!(output.status.success() && said.contains("database: good"), "{said}");
    let planted = [
        "DELETE FROM farm_lock",
        "INSERT INTO order_line (buyer_id, day, crop, grams, made_at) VALUES (7, '2026-06-04', 'oyster', 1, 1780318800)",
        "INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries)
         VALUES (1, 1001, 1, '{\"menu\":{\"commands\":[]}}', 1780318800, 3976214400, 0)",
    ]
    .map(str::to_owned);
    plant_in_sqlite(&file, &planted).await?;
    let (output, said) = check(&[]).await?;
    assert!(!output.status.success(), "{said}");
    for part in ["not_before is 3976214400", "writers in a queue is missing", "there is no such buyer", "--mend"] {
        assert!(said.contains(part), "{part:?} is not in {said}");
    }
    let (output, said) = check(&["--mend"]).await?;
    assert!(!output.status.success(), "the order of nobody is left: {said}");
    for part in ["backup: pinset-before-mending-", "mended: set not_before of outbox (id 1) to the present (rows: 1)"] {
        assert!(said.contains(part), "{part:?} is not in {said}");
    }
    assert_eq!(said.matches("fault: ").count(), 1, "{said}");
    let written: Vec<String> = std::fs::read_dir(folder.path())?
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.starts_with("pinset-before-mending-"))
        .collect();
    assert_eq!(written.len(), 1, "{written:?}");
    let contents = backup::check(std::fs::File::open(folder.path().join(&written[0]))?)?;
    assert!(contents.rows >= 2, "the backup is of before: {contents:?}");
    // What needs a person is left as it was, and nothing is mended twice.
    let (_, said) = check(&["--mend"]).await?;
    assert!(
        said.contains("there is no such buyer") && !said.contains("mended:") && !said.contains("backup:"),
        "{said}"
    );
    Ok(())
}
