//! One transaction, whose end is checked: what was acknowledged is there.

use super::fault::{self, Asked, Point};
use super::row::Columns;
use super::{Error, Query, Result, Store};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::planted::{self, Bug};
use sqlx::any::AnyRow;
use sqlx::{Any, Connection, Executor, Transaction};
use tokio::sync::OwnedMutexGuard;

/// One transaction. All store functions take it, so that what belongs together is committed together.
pub struct Tx {
    pub(super) inner: Transaction<'static, Any>,
    store: Store,
    /// A writer's turn: its number, and what keeps this process's other writers waiting.
    turn: Option<(i64, OwnedMutexGuard<()>)>,
    /// A statement has failed. SQLite may have taken the whole transaction back, and would keep what comes after it one by
    /// one; PostgreSQL answers the commit as done and takes all back.
    has_failed: bool,
    pub(super) cause: Option<String>,
    pub(super) is_stock_moved: bool,
}

impl Tx {
    pub(super) fn new(store: Store, inner: Transaction<'static, Any>) -> Tx {
        Tx { inner, store, turn: None, has_failed: false, cause: None, is_stock_moved: false }
    }

    /// Takes the farm's one write lock.
    pub(super) async fn take_turn(&mut self, guard: OwnedMutexGuard<()>) -> Result<()> {
        let query = sqlx::query("UPDATE farm_lock SET turn = turn + 1 WHERE id = 1 RETURNING turn");
        // Without the lock's row nothing can be read back; the check finds that it is missing, and puts it back.
        let turn = self.optional(query).await?.map(|row| row.integer("turn")).transpose()?;
        self.turn = turn.map(|turn| (turn, guard));
        Ok(())
    }

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
        self.store.ids.next(now)
    }

    pub(super) fn is_sqlite(&self) -> bool {
        self.inner.backend_name() == "SQLite"
    }

    /// Makes everything done so far lasting. An error may also mean that it is lasting and nobody can tell: whoever tries
    /// again must be able to see that it was done.
    ///
    /// # Errors
    /// [`Error::Spoilt`] when a statement has failed before, [`Error::Unconfirmed`] when what was written cannot be read back,
    /// or whatever the database says.
    pub async fn commit(mut self) -> Result<()> {
        let asked = self.ask_faults(Point::Commit).await?;
        let is_checked = !planted::is_on(Bug::ReuseFailedConnection);
        if is_checked && (self.has_failed || !self.inner.is_in_transaction()) {
            return Err(Error::Spoilt);
        }
        if self.turn.is_some() {
            self.store.noted(self.store.disk.look_at_log())?;
        }
        let Tx { inner, store, turn, .. } = self;
        let done = match asked {
            Asked::Pretend => inner.rollback().await,
            _ => inner.commit().await,
        };
        store.noted(done.map_err(Error::from))?;
        if let Asked::FailAfter(error) = asked {
            return store.noted(Err(error));
        }
        if let Some((turn, guard)) = turn
            && is_checked
            && !planted::is_on(Bug::TrustCommit)
        {
            store.noted(store.confirm(turn).await)?;
            drop(guard);
        }
        // From here on the caller must not think that it failed.
        let _ = fault::ask(store.faults.as_ref(), Point::Committed).await;
        Ok(())
    }

    /// Asks whoever makes faults, and does what the database would do by itself.
    async fn ask_faults(&mut self, point: Point) -> Result<Asked> {
        let asked = fault::ask(self.store.faults.as_ref(), point).await;
        if let Ok(Asked::TakenBack(error)) = asked {
            self.inner.execute("ROLLBACK").await?;
            return self.noted(Err(error));
        }
        self.noted(asked)
    }

    fn noted<T>(&mut self, result: Result<T>) -> Result<T> {
        self.has_failed |= matches!(&result, Err(Error::Database(error)) if !matches!(error, sqlx::Error::RowNotFound));
        self.store.noted(result)
    }

    /// Runs a statement; the number of rows it touched.
    pub(super) async fn execute(&mut self, query: Query) -> Result<u64> {
        self.ask_faults(Point::Statement).await?;
        let done = query.execute(&mut *self.inner).await;
        Ok(self.noted(done.map_err(Error::from))?.rows_affected())
    }

    pub(super) async fn all(&mut self, query: Query) -> Result<Vec<AnyRow>> {
        self.ask_faults(Point::Statement).await?;
        let found = query.fetch_all(&mut *self.inner).await;
        self.noted(found.map_err(Error::from))
    }

    pub(super) async fn optional(&mut self, query: Query) -> Result<Option<AnyRow>> {
        self.ask_faults(Point::Statement).await?;
        let found = query.fetch_optional(&mut *self.inner).await;
        self.noted(found.map_err(Error::from))
    }

    pub(super) async fn one(&mut self, query: Query) -> Result<AnyRow> {
        self.ask_faults(Point::Statement).await?;
        let found = query.fetch_one(&mut *self.inner).await;
        self.noted(found.map_err(Error::from))
    }
}
