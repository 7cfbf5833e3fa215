//! What a store call fails with, split where callers act differently.

/// A failed store call.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The database cannot be opened or written at all.
    #[error("the database cannot be opened: {why}")]
    Unopened { why: String },
    /// The database was written by a newer program than this one.
    #[error(
        "the database was written by a newer version of this program (its migration {version} is unknown here); use that version or restore a backup"
    )]
    NewerDatabase { version: i64 },
    /// A stored value is not what its column holds; somebody else wrote it. The value may be anybody's words, so it is not said.
    #[error("the database holds a value that cannot be read, in the column {column}")]
    Malformed { column: String, value: String },
    /// Anything else the database says.
    #[error("the database failed: {0}")]
    Database(#[from] sqlx::Error),
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

    /// Whether a row with the same unique value is already there.
    pub fn is_duplicate(&self) -> bool {
        matches!(self, Error::Database(sqlx::Error::Database(inner)) if inner.is_unique_violation())
    }
}
