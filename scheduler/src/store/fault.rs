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
    /// The call fails, as with a busy database, and nothing of it is done.
    Fail(std::io::ErrorKind),
    /// The call fails, and the database has taken the whole transaction back by itself, as SQLite does when the disk is full
    /// or fails. Where no transaction has begun this is [`Verdict::Fail`].
    TakeBack(std::io::ErrorKind),
    /// A commit is done and reported as failed, as when the log is written and its sync fails. Elsewhere this is
    /// [`Verdict::Fail`].
    FailAfter(std::io::ErrorKind),
    /// A commit is reported as done and is not. Elsewhere nothing happens.
    Pretend,
    /// The call never returns: whoever waits is to be dropped, as when the plug is pulled.
    Halt,
}

/// Who decides.
pub trait Faults: Debug + Send + Sync {
    fn at(&self, point: Point) -> Verdict;
}

/// What a call is to do now; only what is possible at its point.
#[derive(Debug)]
pub(super) enum Asked {
    GoOn,
    TakenBack(Error),
    FailAfter(Error),
    Pretend,
}

impl Asked {
    /// Where no transaction has begun.
    pub(super) fn go_on(self) -> Result<()> {
        match self {
            Asked::GoOn | Asked::Pretend => Ok(()),
            Asked::TakenBack(error) | Asked::FailAfter(error) => Err(error),
        }
    }
}

/// Asks `faults`, if there are any.
pub(super) async fn ask(faults: Option<&Arc<dyn Faults>>, point: Point) -> Result<Asked> {
    let error = |kind| Error::Database(sqlx::Error::Io(std::io::Error::new(kind, format!("failed at {point:?}"))));
    match faults.map_or(Verdict::GoOn, |faults| faults.at(point)) {
        Verdict::GoOn => Ok(Asked::GoOn),
        Verdict::Fail(kind) => Err(error(kind)),
        Verdict::TakeBack(kind) => Ok(Asked::TakenBack(error(kind))),
        Verdict::FailAfter(kind) if point == Point::Commit => Ok(Asked::FailAfter(error(kind))),
        Verdict::FailAfter(kind) => Err(error(kind)),
        Verdict::Pretend if point == Point::Commit => Ok(Asked::Pretend),
        Verdict::Pretend => Ok(Asked::GoOn),
        Verdict::Halt => std::future::pending().await,
    }
}
