//! What a store call fails with, split where callers act differently.

use sqlx::sqlite::SqliteError;
use std::io::ErrorKind;

/// A failed store call.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The database cannot be opened or written at all.
    #[error("the database cannot be opened: {why}")]
    Unopened { why: String },
    /// There is no database, or there is one without a farm's tables.
    #[error("there is no farm's database at {place}")]
    Missing { place: String },
    /// The database was written by a newer program than this one.
    #[error(
        "the database was written by a newer version of this program (its migration {version} is unknown here); use that version or restore a backup"
    )]
    NewerDatabase { version: i64 },
    /// The database's file or disk is gone. Nothing works any more until the program is started again.
    #[error("the database is lost: {why}")]
    Lost { why: String },
    /// A statement of the transaction had failed, and the caller went on.
    #[error("a statement of this transaction failed before, so nothing of it is kept")]
    Spoilt,
    /// The database says that it has committed, and what was written cannot be read back.
    #[error("the database said that it had committed, but what was written is not there")]
    Unconfirmed,
    /// Another program serves the farm from this database.
    #[error(
        "another program is serving the farm from this database already; stop that one first, or give this one a database of its own"
    )]
    HeldByAnother,
    /// A stored value is not what its column holds; somebody else wrote it. The value may be anybody's words, so it is not said.
    #[error("the database holds a value that cannot be read, in the column {column}")]
    Malformed { column: String, value: String },
    /// Anything else the database says.
    #[error("the database failed: {0}")]
    Database(#[from] sqlx::Error),
}

/// What stands behind a failure of a database in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    /// The disk does not read or write; not that it is full.
    Disk,
    /// What is on it is no sound database.
    Damaged,
    Other,
}

impl Error {
    pub(super) fn unopened(error: sqlx::Error) -> Error {
        Error::Unopened { why: error.to_string() }
    }

    pub(super) fn from_migration(error: sqlx::migrate::MigrateError) -> Error {
        use sqlx::migrate::MigrateError::{VersionMissing, VersionTooNew};
        match error {
            VersionMissing(version) | VersionTooNew(version, _) => Error::NewerDatabase { version },
            other => Error::Unopened { why: other.to_string() },
        }
    }

    pub(super) fn malformed(column: &str, value: impl Into<String>) -> Error {
        Error::Malformed { column: column.to_owned(), value: value.into() }
    }

    /// Whether the database itself does not answer or cannot take anything at present: restarting, cut off, busy, full.
    /// Nothing is wrong with what was asked of it, and the same may succeed in a moment.
    pub fn is_outage(&self) -> bool {
        use sqlx::Error::{Io, PoolClosed, PoolTimedOut, Protocol, Tls, WorkerCrashed};
        match self {
            Error::Database(sqlx::Error::Database(inner)) => inner.code().is_some_and(|code| is_outage_code(&code)),
            Error::Database(Io(_) | PoolClosed | PoolTimedOut | Protocol(_) | Tls(_) | WorkerCrashed) => true,
            Error::Unopened { .. } | Error::Missing { .. } | Error::Lost { .. } | Error::Unconfirmed => true,
            Error::Database(_)
            | Error::NewerDatabase { .. }
            | Error::HeldByAnother
            | Error::Spoilt
            | Error::Malformed { .. } => false,
        }
    }

    /// What went wrong in a few words, without any stored value: somebody may have written it.
    pub fn in_brief(&self) -> String {
        match self {
            Error::Malformed { column, .. } => format!("the database holds a value in {column} that cannot be read"),
            other => other.to_string(),
        }
    }

    /// Whether a row with the same unique value is already there.
    pub fn is_duplicate(&self) -> bool {
        matches!(self, Error::Database(sqlx::Error::Database(inner)) if inner.is_unique_violation())
    }

    /// What stands behind it, by SQLite's result codes (sqlite.org, "Result and Error Codes"; the low byte is the primary
    /// code).
    pub(super) fn cause(&self) -> Cause {
        const READ_ONLY: i32 = 8;
        const INPUT_OUTPUT: i32 = 10;
        const CORRUPT: i32 = 11;
        const CANNOT_OPEN: i32 = 14;
        const NO_DATABASE: i32 = 26;
        match self {
            Error::Database(sqlx::Error::Io(error)) => match error.kind() {
                ErrorKind::StorageFull | ErrorKind::ResourceBusy => Cause::Other,
                _ => Cause::Disk,
            },
            Error::Database(sqlx::Error::Database(inner)) if inner.try_downcast_ref::<SqliteError>().is_some() => {
                let code = inner.code().and_then(|code| code.parse::<i32>().ok()).unwrap_or_default();
                match code & 0xff {
                    READ_ONLY | INPUT_OUTPUT | CANNOT_OPEN => Cause::Disk,
                    CORRUPT | NO_DATABASE => Cause::Damaged,
                    _ => Cause::Other,
                }
            }
            _ => Cause::Other,
        }
    }
}

/// A code of SQLite ("Result and Error Codes") or a SQLSTATE of PostgreSQL ("PostgreSQL Error Codes") that says so.
fn is_outage_code(code: &str) -> bool {
    // SQLite's codes are numbers, and the lowest eight bits are the primary one; SQLSTATEs have five characters.
    match code.parse::<u32>() {
        // BUSY, LOCKED, NOMEM, READONLY, INTERRUPT, IOERR, FULL, CANTOPEN, PROTOCOL.
        Ok(number) if code.len() < 5 => matches!(number & 0xff, 5..=10 | 13..=15),
        // Connection, rollback for others' sake, resources, object in use, operator, system; a server that only reads.
        _ => {
            ["08", "40", "53", "57", "58"].iter().any(|class| code.starts_with(class))
                || ["25006", "55P03"].contains(&code)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_of_an_outage_are_told_from_those_of_a_mistake() {
        // SQLITE_BUSY, _BUSY_SNAPSHOT, _LOCKED, _IOERR_WRITE, _FULL, _CANTOPEN; admin_shutdown, cannot_connect_now,
        // connection_failure, too_many_connections, deadlock_detected, lock_not_available, read_only_sql_transaction.
        for code in ["5", "517", "6", "778", "13", "14", "57P01", "57P03", "08006", "53300", "40P01", "55P03", "25006"]
        {
            assert!(is_outage_code(code), "{code}");
        }
        // SQLITE_ERROR, _CONSTRAINT_UNIQUE, _MISMATCH; unique_violation, undefined_table, division_by_zero, syntax_error.
        for code in ["1", "2067", "20", "23505", "42P01", "22012", "42601", ""] {
            assert!(!is_outage_code(code), "{code}");
        }
    }

    #[test]
    fn a_stored_value_is_not_repeated_in_brief() {
        let brief = Error::malformed("lot.keeps_until", "call Mina tonight").in_brief();
        assert!(brief.contains("lot.keeps_until") && !brief.contains("Mina"), "{brief}");
    }
}
