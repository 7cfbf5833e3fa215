//! Backups as files: written beside the running bot, read back once written, and only then given their name. The
//! scheduled ones are kept as many as configured; what anybody else put into the folder is left alone.

use crate::conversation::trouble;
use crate::engine::Engine;
use anyhow::Context;
use chrono::{DateTime, NaiveDateTime, Utc};
use scheduler::clock::UtcSeconds;
use scheduler::store::backup::{self, Contents};
use scheduler::store::{Store, private};
use scheduler::timetable::Expression;
use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

/// Between two looks at the clock.
const LOOK_EVERY: Duration = Duration::from_secs(30);
/// The names of scheduled backups, by UTC instant: they sort by age.
const NAME: &str = "pinset-%Y-%m-%dT%H%M%SZ.jsonl.gz";

/// Writes a backup to the new file `path`; only its owner may read it.
///
/// # Errors
/// When `path` exists, or the backup cannot be written or read back; there is then no such file.
pub async fn write(store: &Store, path: &Path, now: UtcSeconds) -> anyhow::Result<Contents> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    anyhow::ensure!(!path.exists(), "{} exists already; name another file", path.display());
    let file = tempfile::Builder::new().prefix(".pinset-backup").tempfile_in(folder);
    let file = file.with_context(|| format!("no file can be made in {}", folder.display()))?;
    let (file, contents) = backup::write(store, BufWriter::new(file), now).await?;
    let file = file.into_inner().context("the backup cannot be written")?;
    let named = path.to_owned();
    // Waiting for the disk would hold up the bot's other tasks.
    let read = tokio::task::spawn_blocking(move || {
        file.as_file().sync_all()?;
        let read = backup::check(File::open(file.path())?)?;
        file.persist_noclobber(&named)?;
        anyhow::Ok(read)
    })
    .await??;
    anyhow::ensure!(read == contents, "the backup does not read as it was written");
    Ok(contents)
}

/// Writes backups when the configuration says so, until `stop` says so. One that fell due while the program did not run
/// is written at start; one that fails is told to the keepers and tried again at its next time.
pub async fn keep(engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    let config = &engine.house.config.backup;
    let Some(folder) = config.folder.clone() else { return };
    let at = Expression::parse(&config.at).expect("expressions are checked when the file is read");
    let mut done_until = written(&folder).last().map_or(UtcSeconds::new(0), |(made_at, _)| *made_at);
    loop {
        let now = engine.clock.now();
        if at.next_after(done_until, engine.house.zone()).is_some_and(|due| due <= now) {
            done_until = now;
            if let Err(error) = write_and_rotate(&engine, &folder, now).await {
                tracing::error!(error = format!("{error:#}"), "no backup was written");
                if let Err(error) = tell(&engine, now).await {
                    tracing::error!(%error, "and the keepers cannot be told");
                }
            }
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK_EVERY) => {}
            _ = stop.wait_for(|stopping| *stopping) => return,
        }
    }
}

/// Writes a scheduled backup, and takes away the oldest beyond those to be kept.
///
/// # Errors
/// As [`write`]; none is taken away then.
pub async fn write_and_rotate(engine: &Engine, folder: &Path, now: UtcSeconds) -> anyhow::Result<()> {
    private::folder(folder).with_context(|| format!("the folder {} cannot be made", folder.display()))?;
    let instant = DateTime::<Utc>::from_timestamp(now.get(), 0).context("the clock is off")?;
    let contents = write(&engine.store, &folder.join(instant.format(NAME).to_string()), now).await?;
    let kept = usize::try_from(engine.house.config.backup.keep)?;
    let all = written(folder);
    for (_, path) in all.iter().take(all.len().saturating_sub(kept)) {
        std::fs::remove_file(path).with_context(|| format!("{} cannot be removed", path.display()))?;
    }
    tracing::info!(rows = contents.rows, "backup written");
    Ok(())
}

/// The scheduled backups in a folder, the oldest first.
pub fn written(folder: &Path) -> Vec<(UtcSeconds, PathBuf)> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut found: Vec<_> = entries
        .filter_map(|entry| {
            let path = entry.ok()?.path();
            let made_at = NaiveDateTime::parse_from_str(path.file_name()?.to_str()?, NAME).ok()?;
            Some((UtcSeconds::new(made_at.and_utc().timestamp()), path))
        })
        .collect();
    found.sort();
    found
}

async fn tell(engine: &Engine, now: UtcSeconds) -> scheduler::store::Result<()> {
    let tx = trouble::no_backup(&engine.house, engine.store.begin().await?, now).await?;
    tx.commit().await?;
    engine.outbox_filled.notify_one();
    Ok(())
}
