//! What the store stands on: the disk and, with SQLite, the database's file. A file that was deleted, replaced or shortened,
//! damaged content, and a disk that keeps failing are final: the store answers nothing from then on, so that nothing is
//! acknowledged that nobody will find again. A full disk is not final; space may come back.

use super::error::Cause;
use super::{Error, Result};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// The disk counts as gone after this many failures in a row, over at least [`PATIENCE`], without a commit between them.
const FAILURES_MAX: u32 = 5;
/// With less space than this a failure is one of space, whatever the database calls it, bytes.
const FULL_BELOW: u64 = 1 << 20;
pub(super) const PATIENCE: Duration = Duration::from_secs(5);

#[derive(Debug)]
pub(super) struct Disk {
    /// `None` where a server keeps the files.
    file: Option<DatabaseFile>,
    failing: Mutex<Failing>,
    lost: watch::Sender<Option<String>>,
}

#[derive(Debug, Default)]
struct Failing {
    last_at: Option<Instant>,
    /// Failures of the disk since the last commit, and when the first of them was.
    in_a_row: u32,
    since: Option<Instant>,
}

impl Disk {
    /// The file must be there.
    pub fn of(path: Option<&Path>) -> Result<Disk> {
        let file =
            path.map(DatabaseFile::at).transpose().map_err(|error| Error::Unopened { why: error.to_string() })?;
        Ok(Disk { file, failing: Mutex::default(), lost: watch::Sender::new(None) })
    }

    /// One that nothing is asked of.
    pub fn of_nothing() -> Disk {
        Disk { file: None, failing: Mutex::default(), lost: watch::Sender::new(None) }
    }

    /// # Errors
    /// [`Error::Lost`] when the file at the path is no longer the one that was opened, or the store was lost before.
    pub fn look(&self) -> Result<()> {
        if let Some(why) = self.lost.borrow().clone() {
            return Err(Error::Lost { why });
        }
        let Some(file) = &self.file else { return Ok(()) };
        file.look().map_err(|why| self.lose(why))
    }

    /// Notes whether SQLite keeps a log beside the file.
    pub fn has_log(&self, has_log: bool) {
        if let Some(file) = &self.file {
            file.has_log.store(has_log, Ordering::Relaxed);
        }
    }

    /// Whether SQLite's log is there, too; a connection must be in a transaction.
    ///
    /// # Errors
    /// As [`Disk::look`].
    pub fn look_at_log(&self) -> Result<()> {
        match &self.file {
            Some(file) => file.look_at_log().map_err(|why| self.lose(why)),
            None => Ok(()),
        }
    }

    /// A commit was read back.
    pub fn has_kept(&self) {
        let mut failing = self.failing();
        (failing.in_a_row, failing.since) = (0, None);
    }

    /// A call of the database has failed.
    pub fn failed(&self, error: &Error) {
        let now = Instant::now();
        let mut failing = self.failing();
        failing.last_at = Some(now);
        // What a server's connection fails with says nothing of this machine's disk.
        if self.file.is_none() {
            return;
        }
        match error.cause() {
            Cause::Damaged => drop(self.lose(format!("its content is damaged: {error}"))),
            Cause::Disk if self.free_bytes().is_none_or(|free| free >= FULL_BELOW) => {
                failing.in_a_row += 1;
                let since = *failing.since.get_or_insert(now);
                if failing.in_a_row >= FAILURES_MAX && now.duration_since(since) >= PATIENCE {
                    drop(self.lose(format!("the disk keeps failing: {error}")));
                }
            }
            Cause::Disk | Cause::Other => {}
        }
    }

    /// Whether a connection of this age has lived through a failure. What state it is in then is not certain.
    pub fn is_suspect(&self, age: Duration) -> bool {
        self.failing().last_at.is_some_and(|at| age >= at.elapsed())
    }

    /// Waits until the store is lost; why.
    pub async fn lost(&self) -> String {
        let mut lost = self.lost.subscribe();
        match lost.wait_for(Option::is_some).await.map(|why| why.clone().unwrap_or_default()) {
            Ok(why) => why,
            // The sender lives as long as `self`.
            Err(_) => std::future::pending().await,
        }
    }

    /// Bytes that an ordinary user may still write where the file is.
    pub fn free_bytes(&self) -> Option<u64> {
        self.file.as_ref().and_then(DatabaseFile::free_bytes)
    }

    /// Moves the first failure back in time.
    #[cfg(test)]
    pub fn age_failures(&self, by: Duration) {
        let mut failing = self.failing();
        failing.since = failing.since.and_then(|since| since.checked_sub(by));
    }

    fn lose(&self, why: String) -> Error {
        self.lost.send_if_modified(|lost| {
            let is_first = lost.is_none();
            if is_first {
                *lost = Some(why.clone());
            }
            is_first
        });
        Error::Lost { why }
    }

    fn failing(&self) -> MutexGuard<'_, Failing> {
        self.failing.lock().expect("nobody panics while holding this")
    }
}

/// The file as it was opened.
#[derive(Debug)]
struct DatabaseFile {
    path: PathBuf,
    identity: (u64, u64),
    has_log: AtomicBool,
    /// The greatest length seen, bytes. The file never becomes shorter: nothing here vacuums it.
    length: AtomicU64,
}

impl DatabaseFile {
    fn at(path: &Path) -> std::io::Result<DatabaseFile> {
        let found = std::fs::metadata(path)?;
        let path = std::path::absolute(path)?;
        let has_log = AtomicBool::new(false);
        Ok(DatabaseFile { path, identity: identity(&found), has_log, length: AtomicU64::new(found.len()) })
    }

    fn look(&self) -> std::result::Result<(), String> {
        let path = self.path.display();
        let found = match std::fs::metadata(&self.path) {
            Ok(found) => found,
            Err(error) if error.kind() == ErrorKind::NotFound => return Err(format!("its file {path} is gone")),
            // The database's own calls will say whether this is lasting.
            Err(_) => return Ok(()),
        };
        if identity(&found) != self.identity {
            return Err(format!("another file has taken the place of its file {path}"));
        }
        if self.length.fetch_max(found.len(), Ordering::Relaxed) > found.len() {
            return Err(format!("something else has shortened its file {path}"));
        }
        Ok(())
    }

    fn look_at_log(&self) -> std::result::Result<(), String> {
        if !self.has_log.load(Ordering::Relaxed) {
            return Ok(());
        }
        let mut log = self.path.clone().into_os_string();
        log.push("-wal");
        match std::fs::metadata(&log) {
            Err(error) if error.kind() == ErrorKind::NotFound => {
                Err(format!("its log {} is gone", PathBuf::from(log).display()))
            }
            _ => Ok(()),
        }
    }

    #[cfg(unix)]
    fn free_bytes(&self) -> Option<u64> {
        let disk = rustix::fs::statvfs(&self.path).ok()?;
        Some(disk.f_bavail.saturating_mul(disk.f_frsize))
    }

    #[cfg(not(unix))]
    fn free_bytes(&self) -> Option<u64> {
        None
    }
}

/// What tells one file from another at the same path: device and number of the file.
#[cfg(unix)]
fn identity(found: &std::fs::Metadata) -> (u64, u64) {
    use std::os::unix::fs::MetadataExt;
    (found.dev(), found.ino())
}

#[cfg(not(unix))]
fn identity(_: &std::fs::Metadata) -> (u64, u64) {
    (0, 0)
}
