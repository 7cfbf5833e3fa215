//! What the farm remembers: the only place with SQL. One module a table group, functions named for the question they
//! answer, domain types out and never rows.
//!
//! Portable between SQLite (embedded, the default) and PostgreSQL (by URL). Every writing transaction begins with
//! [`Store::begin`], which takes the farm's one write lock first, so that writers queue and no reading is stale at commit.

pub mod audit;
pub mod backup;
pub mod buttons;
pub mod cold_room;
pub mod cold_room_warmth;
pub mod copy;
pub mod crops;
pub mod deliveries;
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
pub mod rooms;
mod row;
mod schema;
pub mod settings;
pub mod standing_giving;
pub mod surplus;
pub mod surplus_rules;

pub use error::Error;

use crate::clock::UtcSeconds;
use crate::id::{Id, IdMaker};
use fault::{Faults, Point};
use migrations::MIGRATIONS;
use sqlx::any::{AnyArguments, AnyPoolOptions, AnyRow};
use sqlx::{Any, AnyPool, Executor, Transaction};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// All a store call can fail with.
pub type Result<T> = std::result::Result<T, Error>;

type Query = sqlx::query::Query<'static, Any, AnyArguments>;

/// How long a connection waits for another writer.
const BUSY_WAIT: Duration = Duration::from_secs(15);

/// The database, opened and up to date.
#[derive(Clone, Debug)]
pub struct Store {
    pool: AnyPool,
    ids: Arc<IdMaker>,
    faults: Option<Arc<dyn Faults>>,
    failures: Arc<AtomicU64>,
    /// The file of an SQLite database.
    file: Option<PathBuf>,
}

impl Store {
    /// Opens `url` (`sqlite://path`, `sqlite::memory:` is refused, or `postgres://…`), makes a missing SQLite file, and
    /// runs the migrations that are due.
    ///
    /// # Errors
    /// [`Error::NewerDatabase`] when the database was written by a newer program, [`Error::Unopened`] when it cannot be
    /// opened or written.
    pub async fn open(url: &str) -> Result<Store> {
        let store = Store::connect(url).await?;
        MIGRATIONS.run(&store.pool).await.map_err(Error::from_migration)?;
        let mut tx = store.begin_reading().await?;
        if let Some(last) = outbox::last(&mut tx).await? {
            store.ids.go_on_after(last);
        }
        drop(tx);
        Ok(store)
    }

    /// The database as it is, without migrations.
    async fn connect(url: &str) -> Result<Store> {
        sqlx::any::install_default_drivers();
        let is_sqlite = url.starts_with("sqlite:");
        if is_sqlite && url.contains(":memory:") {
            return Err(Error::Unopened { why: "an in-memory database would lose every order at the end".into() });
        }
        let full_url = if is_sqlite && !url.contains('?') { format!("{url}?mode=rwc") } else { url.to_owned() };
        let pool = AnyPoolOptions::new()
            .max_connections(if is_sqlite { 4 } else { 8 })
            .acquire_timeout(BUSY_WAIT)
            .after_connect(move |connection, _| {
                Box::pin(async move {
                    if is_sqlite {
                        // FULL: an order that was acknowledged must survive the plug being pulled.
                        connection
                            .execute(
                                "PRAGMA busy_timeout = 15000; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;",
                            )
                            .await?;
                    }
                    Ok(())
                })
            })
            .connect(&full_url)
            .await
            .map_err(Error::unopened)?;
        Store::over(pool, file_of(url))
    }

    fn over(pool: AnyPool, file: Option<PathBuf>) -> Result<Store> {
        let mut copy = [0_u8; 2];
        getrandom::fill(&mut copy).map_err(|error| Error::Unopened { why: error.to_string() })?;
        let ids = Arc::new(IdMaker::new(u16::from_le_bytes(copy)));
        Ok(Store { pool, ids, faults: None, failures: Arc::default(), file })
    }

    /// The database at `url` as it is, however damaged: no migration is run and no file is made.
    ///
    /// # Errors
    /// [`Error::Unopened`] when there is none or it does not answer.
    pub async fn open_as_is(url: &str) -> Result<Store> {
        let is_file = url.starts_with("sqlite:") && !url.contains('?');
        Store::connect(&if is_file { format!("{url}?mode=rw") } else { url.to_owned() }).await
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
    pub async fn begin(&self) -> Result<Tx> {
        counted(&self.failures, fault::ask(self.faults.as_ref(), Point::Begin).await)?;
        let mut tx = self.begin_reading().await?;
        tx.execute(sqlx::query("UPDATE farm_lock SET turn = turn + 1 WHERE id = 1")).await?;
        Ok(tx)
    }

    /// Begins a transaction that only reads: one consistent picture, no lock.
    pub async fn begin_reading(&self) -> Result<Tx> {
        let inner = counted(&self.failures, self.pool.begin().await.map_err(Error::from))?;
        let (ids, failures) = (Arc::clone(&self.ids), Arc::clone(&self.failures));
        Ok(Tx { inner, ids, faults: self.faults.clone(), failures, cause: None, is_stock_moved: false })
    }

    /// Asks the database something small.
    ///
    /// # Errors
    /// When it does not answer, or its file is gone: SQLite would go on writing where nobody finds it again.
    pub async fn look(&self) -> Result<()> {
        if self.file.as_ref().is_some_and(|file| !file.exists()) {
            return Err(Error::Unopened { why: "its file is gone".into() });
        }
        let mut tx = self.begin_reading().await?;
        tx.one(sqlx::query("SELECT turn FROM farm_lock WHERE id = 1")).await?;
        Ok(())
    }

    /// How many calls have failed since the store was opened.
    pub fn failures(&self) -> u64 {
        self.failures.load(Ordering::Relaxed)
    }

    /// Closes every connection; open transactions are awaited.
    pub async fn close(&self) {
        self.pool.close().await;
    }
}

/// One transaction. All store functions take it, so that what belongs together is committed together.
pub struct Tx {
    inner: Transaction<'static, Any>,
    ids: Arc<IdMaker>,
    faults: Option<Arc<dyn Faults>>,
    failures: Arc<AtomicU64>,
    cause: Option<String>,
    is_stock_moved: bool,
}

/// The file that an SQLite URL names.
fn file_of(url: &str) -> Option<PathBuf> {
    let path = url.strip_prefix("sqlite:")?;
    let path = path.strip_prefix("//").unwrap_or(path);
    Some(path.split('?').next().unwrap_or(path).into())
}

/// Counts a failure; a name that is taken is an answer, not one.
fn counted<T>(failures: &AtomicU64, result: Result<T>) -> Result<T> {
    if result.as_ref().is_err_and(|error| !error.is_duplicate()) {
        failures.fetch_add(1, Ordering::Relaxed);
    }
    result
}

impl Tx {
    /// Messages written from here on are marked with what caused them.
    pub fn caused_by(&mut self, cause: impl Into<String>) {
        self.cause = Some(cause.into());
    }

    /// Whether what lies in the cold room, or how long it keeps, has changed in this transaction.
    pub fn is_stock_moved(&self) -> bool {
        self.is_stock_moved
    }

    /// A new identifier.
    pub fn new_id(&self, now: UtcSeconds) -> Id {
        self.ids.next(now)
    }

    fn is_sqlite(&self) -> bool {
        self.inner.backend_name() == "SQLite"
    }

    /// Makes everything done so far lasting.
    pub async fn commit(self) -> Result<()> {
        counted(&self.failures, fault::ask(self.faults.as_ref(), Point::Commit).await)?;
        counted(&self.failures, self.inner.commit().await.map_err(Error::from))?;
        // From here on the caller must not think that it failed.
        let _ = fault::ask(self.faults.as_ref(), Point::Committed).await;
        Ok(())
    }

    async fn ask_faults(&mut self) -> Result<()> {
        counted(&self.failures, fault::ask(self.faults.as_ref(), Point::Statement).await)
    }

    /// Runs a statement; the number of rows it touched.
    async fn execute(&mut self, query: Query) -> Result<u64> {
        self.ask_faults().await?;
        let done = query.execute(&mut *self.inner).await;
        Ok(counted(&self.failures, done.map_err(Error::from))?.rows_affected())
    }

    async fn all(&mut self, query: Query) -> Result<Vec<AnyRow>> {
        self.ask_faults().await?;
        let found = query.fetch_all(&mut *self.inner).await;
        counted(&self.failures, found.map_err(Error::from))
    }

    async fn optional(&mut self, query: Query) -> Result<Option<AnyRow>> {
        self.ask_faults().await?;
        let found = query.fetch_optional(&mut *self.inner).await;
        counted(&self.failures, found.map_err(Error::from))
    }

    async fn one(&mut self, query: Query) -> Result<AnyRow> {
        self.ask_faults().await?;
        let found = query.fetch_one(&mut *self.inner).await;
        counted(&self.failures, found.map_err(Error::from))
    }
}
