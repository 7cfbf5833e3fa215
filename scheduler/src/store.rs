//! What the farm remembers: the only place with SQL. One module a table group, functions named for the question they
//! answer, domain types out and never rows.
//!
//! Portable between SQLite (embedded, the default) and PostgreSQL (by URL). Every writing transaction begins with
//! [`Store::begin`], which takes the farm's one write lock first, so that writers queue and no reading is stale at commit.

pub mod ages;
pub mod alone;
pub mod audit;
pub mod backup;
pub mod buttons;
pub mod clock_back;
pub mod cold_room;
pub mod cold_room_warmth;
mod connection;
pub mod copy;
pub mod crops;
pub mod deliveries;
mod disk;
pub mod error;
pub mod fault;
pub mod giving;
pub mod growing;
pub mod held;
pub mod inbox;
mod migrations;
pub mod occurrences;
pub mod orders;
pub mod outbox;
pub mod people;
pub mod private;
pub mod rooms;
mod row;
mod schema;
pub mod settings;
pub mod standing_giving;
pub mod surplus;
pub mod surplus_rules;
#[cfg(test)]
mod tests;
mod transaction;

pub use error::Error;

use crate::id::IdMaker;
use crate::planted::{self, Bug};
use connection::WhenMissing;
pub use connection::place;
use disk::Disk;
use fault::{Faults, Point};
use migrations::MIGRATIONS;
use row::Columns;
use sqlx::any::AnyArguments;
use sqlx::{Any, AnyPool};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;
use tokio::sync::Mutex;
pub use transaction::Tx;

/// All a store call can fail with.
pub type Result<T> = std::result::Result<T, Error>;

type Query = sqlx::query::Query<'static, Any, AnyArguments>;

/// How long a writer waits for another. A planted fault may leave a lock that nobody releases: that is not waited for long.
const BUSY_WAIT: Duration = Duration::from_millis(if cfg!(feature = "planted") { 300 } else { 15_000 });

/// The database, opened and up to date.
#[derive(Clone, Debug)]
pub struct Store {
    pool: AnyPool,
    disk: Arc<Disk>,
    /// Held by the writer whose turn it is, until its commit has been read back.
    writer: Arc<Mutex<()>>,
    ids: Arc<IdMaker>,
    faults: Option<Arc<dyn Faults>>,
    failures: Arc<AtomicU64>,
}

impl Store {
    /// Opens `url` (`sqlite://path`, `sqlite::memory:` is refused, or `postgres://…`), makes a missing SQLite file, and
    /// runs the migrations that are due.
    ///
    /// # Errors
    /// [`Error::NewerDatabase`] when the database was written by a newer program, [`Error::Unopened`] when it cannot be
    /// opened or written.
    pub async fn open(url: &str) -> Result<Store> {
        Store::connect(url, WhenMissing::Make).await?.migrated().await
    }

    /// The same for a database that a farm must have been kept in before.
    ///
    /// # Errors
    /// As [`Store::open`], and [`Error::Missing`].
    pub async fn open_existing(url: &str) -> Result<Store> {
        let store = Store::connect(url, WhenMissing::Refuse).await?;
        let is_empty = schema::is_empty(&mut store.begin_reading().await?).await?;
        if is_empty {
            store.close().await;
            return Err(Error::Missing { place: place(url) });
        }
        store.migrated().await
    }

    async fn migrated(self) -> Result<Store> {
        MIGRATIONS.run(&self.pool).await.map_err(Error::from_migration)?;
        let mut tx = self.begin_reading().await?;
        if let Some(last) = outbox::last(&mut tx).await? {
            self.ids.go_on_after(last);
        }
        drop(tx);
        Ok(self)
    }

    /// The database as it is, without migrations.
    async fn connect(url: &str, when_missing: WhenMissing) -> Result<Store> {
        let (pool, disk) = connection::connect(url, when_missing).await?;
        Store::over(pool, disk)
    }

    fn over(pool: AnyPool, disk: Arc<Disk>) -> Result<Store> {
        let mut copy = [0_u8; 2];
        getrandom::fill(&mut copy).map_err(|error| Error::Unopened { why: error.to_string() })?;
        let ids = Arc::new(IdMaker::new(u16::from_le_bytes(copy)));
        Ok(Store { pool, disk, writer: Arc::default(), ids, faults: None, failures: Arc::default() })
    }

    /// The database at `url` as it is, however damaged: no migration is run and no file is made.
    ///
    /// # Errors
    /// [`Error::Missing`] when there is none, [`Error::Unopened`] when it does not answer.
    pub async fn open_as_is(url: &str) -> Result<Store> {
        Ok(Store::connect(url, WhenMissing::Refuse).await?.examined())
    }

    /// The same store for whoever examines it: it goes on answering what it can when its content is damaged.
    pub fn examined(self) -> Store {
        Store { disk: Arc::new(Disk::of_nothing()), ..self }
    }

    /// The same store, failing and stopping where `faults` say; for tests.
    pub fn with_faults(self, faults: Arc<dyn Faults>) -> Store {
        Store { faults: Some(faults), ..self }
    }

    /// The same store without them.
    pub fn without_faults(&self) -> Store {
        Store { faults: None, ..self.clone() }
    }

    /// The same store with identifiers that depend on nothing but the record and the clock; for tests that must play the same
    /// twice.
    pub fn as_copy(self, copy: u16) -> Store {
        Store { ids: Arc::new(self.ids.as_copy(copy)), ..self }
    }

    /// Begins a transaction that may write. Dropped without [`Tx::commit`], it changes nothing.
    ///
    /// # Errors
    /// [`Error::Lost`] once the database's file or disk is gone, or whatever the database says.
    pub async fn begin(&self) -> Result<Tx> {
        self.noted(fault::ask(self.faults.as_ref(), Point::Begin).await.and_then(fault::Asked::go_on))?;
        let turn = tokio::time::timeout(BUSY_WAIT, Arc::clone(&self.writer).lock_owned()).await;
        let turn = self.noted(turn.map_err(|_| sqlx::Error::PoolTimedOut.into()))?;
        let mut tx = self.begin_reading().await?;
        tx.take_turn(turn).await?;
        Ok(tx)
    }

    /// Begins a transaction that only reads: one consistent picture, no lock.
    ///
    /// # Errors
    /// As [`Store::begin`].
    pub async fn begin_reading(&self) -> Result<Tx> {
        self.noted(self.disk.look())?;
        // With a statement of its own the driver refuses to begin inside another transaction, in place of a savepoint.
        let begun = match planted::is_on(Bug::ReuseFailedConnection) {
            true => self.pool.begin().await,
            false => self.pool.begin_with("BEGIN").await,
        };
        Ok(Tx::new(self.clone(), self.noted(begun.map_err(Error::from))?))
    }

    /// Writes something small and reads it back.
    ///
    /// # Errors
    /// When the database does not do so, or its file is gone.
    pub async fn look(&self) -> Result<()> {
        self.begin().await?.commit().await
    }

    /// Reads a commit back from outside of its transaction: `turn` is the one it had. No other writer of this process
    /// comes in between, as it waits for the turn; what another process writes leaves a later one.
    async fn confirm(&self, turn: i64) -> Result<()> {
        let mut connection = self.pool.acquire().await?;
        let query = sqlx::query("SELECT turn FROM farm_lock WHERE id = 1");
        let found = query.fetch_one(&mut *connection).await?.integer("turn")?;
        self.disk.look()?;
        if found < turn {
            return Err(Error::Unconfirmed);
        }
        self.disk.has_kept();
        Ok(())
    }

    /// Waits until the database's file or disk is gone for good; why.
    pub async fn lost(&self) -> String {
        self.disk.lost().await
    }

    /// Bytes that may still be written where the database's file is; `None` where a server keeps it.
    pub fn free_bytes(&self) -> Option<u64> {
        self.disk.free_bytes()
    }

    /// How many calls have failed since the store was opened.
    pub fn failures(&self) -> u64 {
        self.failures.load(Ordering::Relaxed)
    }

    /// Closes every connection; open transactions are awaited.
    pub async fn close(&self) {
        self.pool.close().await;
    }

    /// Notes a failure; a name that is taken and a row that is not there are answers, not failures.
    fn noted<T>(&self, result: Result<T>) -> Result<T> {
        if let Err(error) = &result
            && !error.is_duplicate()
            && !matches!(error, Error::Database(sqlx::Error::RowNotFound))
        {
            self.failures.fetch_add(1, Ordering::Relaxed);
            self.disk.failed(error);
        }
        result
    }
}
