//! One program at a time acts for a farm. Two would send each other's messages in flight once more and do each other's
//! timetable; so whoever serves holds the database, and a second one is turned away.
//!
//! The system lets go when the holder ends, however it ends: of a file next to an SQLite database at once, of a PostgreSQL
//! session within [`KEEPALIVE`] where the whole machine is gone.

use super::connection::file_of;
use super::{Error, Result};
use crate::planted::{self, Bug};
use sqlx::{AnyConnection, Connection, Executor, Row};
use std::fs::{File, TryLockError};
use std::path::PathBuf;
use std::time::Duration;

/// What PostgreSQL is told, so that the session of a machine that is gone ends within half a minute.
const KEEPALIVE: &str = "SET tcp_keepalives_idle = 10; SET tcp_keepalives_interval = 5; SET tcp_keepalives_count = 3";
/// The first half of the number under which the database is held; the second is the schema's.
const LOCK: &str = "SELECT CASE WHEN pg_try_advisory_lock(1885957748, hashtext(current_schema())) THEN 1 ELSE 0 END";

/// The database is held while this exists.
#[derive(Debug)]
pub struct Alone {
    held: Held,
}

#[derive(Debug)]
enum Held {
    /// The lock goes with the file.
    File {
        _file: File,
    },
    Session(Box<AnyConnection>),
}

/// How long a program that was just killed may take to let go: the system closes its files; a server has to notice.
const FILE_WAIT: Duration = Duration::from_secs(3);
const SESSION_WAIT: Duration = Duration::from_secs(30);

impl Alone {
    /// How long whoever takes the place of a program that was killed should go on trying to [`Alone::take`] its database.
    pub fn patience(url: &str) -> Duration {
        if file_of(url).is_ok_and(|file| file.is_some()) { FILE_WAIT } else { SESSION_WAIT }
    }

    /// Whether there may be a database to take hold of: an SQLite file can be missing.
    pub fn has_database(url: &str) -> bool {
        file_of(url).is_ok_and(|file| file.is_none_or(|file| file.exists()))
    }

    /// Takes hold of the database at `url`.
    ///
    /// # Errors
    /// [`Error::HeldByAnother`] when another program has it, [`Error::Unopened`] when nothing can be held there.
    pub async fn take(url: &str) -> Result<Alone> {
        match file_of(url)? {
            Some(database) => Alone::take_file(database),
            None => Alone::take_session(url).await,
        }
    }

    fn take_file(database: PathBuf) -> Result<Alone> {
        let unopened = |error: std::io::Error| Error::Unopened { why: error.to_string() };
        // Under whatever name the database is reached, the lock lies beside the file itself; it may be still to be made.
        let database = database.canonicalize().unwrap_or(database);
        let mut path = database.into_os_string();
        path.push(".serving");
        let mut options = File::options();
        options.create(true).truncate(false).write(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let file = options.open(path).map_err(unopened)?;
        match file.try_lock() {
            Ok(()) => Ok(Alone { held: Held::File { _file: file } }),
            Err(TryLockError::WouldBlock) if planted::is_on(Bug::ServeTwice) => {
                Ok(Alone { held: Held::File { _file: file } })
            }
            Err(TryLockError::WouldBlock) => Err(Error::HeldByAnother),
            Err(TryLockError::Error(error)) => Err(unopened(error)),
        }
    }

    async fn take_session(url: &str) -> Result<Alone> {
        sqlx::any::install_default_drivers();
        let mut session = AnyConnection::connect(url).await.map_err(Error::unopened)?;
        session.execute(KEEPALIVE).await?;
        let row = session.fetch_one(LOCK).await?;
        if row.try_get::<i32, _>(0)? != 1 {
            return Err(Error::HeldByAnother);
        }
        Ok(Alone { held: Held::Session(Box::new(session)) })
    }

    /// Looks whether the database is still held, and takes it again where its server has let go meanwhile.
    ///
    /// # Errors
    /// [`Error::HeldByAnother`] when another program has it now; others when the server does not answer.
    pub async fn keep(&mut self, url: &str) -> Result<()> {
        let Held::Session(session) = &mut self.held else { return Ok(()) };
        if session.ping().await.is_ok() {
            return Ok(());
        }
        *self = Alone::take_session(url).await?;
        Ok(())
    }
}
