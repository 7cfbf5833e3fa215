//! Where a test may let the database fail or the program stop: before and after everything a transaction does. Nothing is
//! asked where nobody listens.

use super::{Error, Result};
use std::fmt::Debug;
use std::sync::Arc;

/// Where a store call stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// A transaction that may write is to begin.
    Begin,
    /// A statement is to run.
    Statement,
    /// Everything is to be made lasting.
    Commit,
    /// It has been made lasting, and nobody knows yet.
    Committed,
}

/// What is to happen there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    GoOn,
    /// The call fails, as with a full disk or a busy database.
    Fail(std::io::ErrorKind),
    /// The call never returns: whoever waits is to be dropped, as when the plug is pulled.
    Halt,
}

/// Who decides.
pub trait Faults: Debug + Send + Sync {
    fn at(&self, point: Point) -> Verdict;
}

/// Asks `faults`, if there are any, and does as they say.
pub(super) async fn ask(faults: Option<&Arc<dyn Faults>>, point: Point) -> Result<()> {
    match faults.map_or(Verdict::GoOn, |faults| faults.at(point)) {
        Verdict::GoOn => Ok(()),
        Verdict::Fail(kind) => {
            Err(Error::Database(sqlx::Error::Io(std::io::Error::new(kind, format!("failed at {point:?}")))))
        }
        Verdict::Halt => std::future::pending().await,
    }
}
