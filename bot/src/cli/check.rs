//! `pinset check`: what is wrong with the configuration or the database, and how to mend it; with `--mend`, what can be mended
//! without a person is, after a backup.

use super::CheckOptions;
use super::place::Place;
use crate::backups;
use crate::config::Config;
use crate::house::House;
use crate::stored;
use crate::wording::Wording;
use anyhow::Context;
use chrono::{DateTime, Utc};
use scheduler::clock::{Clock, SystemClock, UtcSeconds};
use scheduler::people::Role;
use scheduler::store::audit::{self, Fault, Ground};
use scheduler::store::{self, Store, Tx, occurrences, outbox, people, private};
use std::path::PathBuf;

/// Most lines of one kind.
const LINES_MAX: i64 = 20;
/// The name of the backup made before anything is mended; scheduled backups do not rotate it away.
const BEFORE_MENDING: &str = "pinset-before-mending-%Y-%m-%dT%H%M%SZ.jsonl.gz";

pub(super) async fn run(options: CheckOptions) -> anyhow::Result<()> {
    let config = Config::read(&options.farm.config)?;
    let wording = Wording::embedded().context("the embedded words are broken")?;
    let house = House::new(config, wording);
    println!("configuration: good, {} in {}", house.config.farm.name, house.zone());
    let store = Place::of(&options.farm).open_to_check(&options.farm.database).await?;
    for note in notes(&store).await.unwrap_or_default() {
        println!("note: {note}");
    }
    let mut faults = faults(&house, &store).await?;
    if options.mend && faults.iter().any(|fault| fault.by_itself.is_some()) {
        mend(&house, &store, &faults).await?;
        faults = self::faults(&house, &store).await?;
    }
    store.close().await;
    for fault in &faults {
        println!("fault: {}; {}", fault.what, fault.mend);
    }
    let mendable = faults.iter().filter(|fault| fault.by_itself.is_some()).count();
    let hint = if mendable > 0 { "; `pinset check --mend` mends some of them after a backup" } else { "" };
    anyhow::ensure!(faults.is_empty(), "the database has {} faults, named above{hint}", faults.len());
    println!("database: good");
    Ok(())
}

/// Worth knowing, nothing is broken.
async fn notes(store: &Store) -> store::Result<Vec<String>> {
    let mut tx = store.begin_reading().await?;
    let mut notes = Vec::new();
    if people::with_role(&mut tx, Role::Keeper).await?.is_empty() {
        notes.push("nobody keeps this farm yet; `pinset serve` prints a link for the first keeper".into());
    }
    for (chat_id, reason, at) in outbox::set_aside_list(&mut tx, LINES_MAX).await? {
        notes.push(format!("a message to chat {chat_id} was set aside at {at}: {reason}"));
    }
    for (_, name, since) in people::unreachable(&mut tx).await? {
        notes.push(format!("{name} cannot be reached since {since}: the chat is blocked or gone"));
    }
    for (job, due_at) in audit::missed_occurrences(&mut tx, LINES_MAX).await? {
        notes.push(format!("{job} of {due_at} was missed because the program did not run"));
    }
    Ok(notes)
}

async fn faults(house: &House, store: &Store) -> anyhow::Result<Vec<Fault>> {
    let ground = Ground { now: SystemClock.now(), zone: house.zone(), reads: &stored::reads };
    let mut faults = audit::examine(store, &ground).await?;
    let mut tx = store.begin_reading().await?;
    // Where a table is missing, that is said above.
    faults.extend(aside(&mut tx).await.unwrap_or_default());
    faults.extend(unknown(house, &mut tx).await.unwrap_or_default());
    Ok(faults)
}

/// Jobs of the timetable that keep failing, or that this program does not know.
async fn aside(tx: &mut Tx) -> store::Result<Vec<Fault>> {
    let aside = occurrences::aside(tx).await?.into_iter().map(|one| Fault {
        what: format!("{} of {} is set aside since {}: {}", one.job, one.due_at, one.since, one.fault),
        mend: "mend what it says; the job is done when the program starts again".into(),
        by_itself: None,
    });
    Ok(aside.collect())
}

/// Crops that the database speaks of and the configuration does not know.
async fn unknown(house: &House, tx: &mut Tx) -> store::Result<Vec<Fault>> {
    let house = house.of(tx).await?;
    let crops = audit::crops_spoken_of(tx).await?.into_iter().filter(|crop| house.crops.get(crop).is_none());
    let faults = crops.map(|crop| Fault {
        what: format!("the database speaks of the crop {crop:?}, the configuration does not know it"),
        mend: "add it to the configuration as [[crop]]".into(),
        by_itself: None,
    });
    Ok(faults.collect())
}

/// Writes a backup, then does what can be done without a person, and says both.
async fn mend(house: &House, store: &Store, faults: &[Fault]) -> anyhow::Result<()> {
    let now = SystemClock.now();
    let path = backup_path(house, now)?;
    let written = backups::write(store, &path, now).await;
    written.with_context(|| "nothing was mended, as no backup could be written before; copy the database by hand")?;
    println!("backup: {}", path.display());
    for did in audit::mend(store, faults).await? {
        println!("mended: {did}");
    }
    Ok(())
}

fn backup_path(house: &House, now: UtcSeconds) -> anyhow::Result<PathBuf> {
    let instant = DateTime::<Utc>::from_timestamp(now.get(), 0).context("the clock is off")?;
    let name = instant.format(BEFORE_MENDING).to_string();
    Ok(match &house.config.backup.folder {
        Some(folder) => {
            private::folder(folder).with_context(|| format!("the folder {} cannot be made", folder.display()))?;
            folder.join(name)
        }
        None => name.into(),
    })
}
