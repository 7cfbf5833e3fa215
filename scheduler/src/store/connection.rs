//! Connections to either kind of database, and which of them may be used again.

use super::disk::Disk;
use super::error::Error;
use super::row::Columns;
use super::{BUSY_WAIT, Result, private};
use crate::planted::{self, Bug};
use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::pool::PoolConnectionMetadata;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{AnyConnection, AnyPool, Connection, Executor};
use std::path::PathBuf;
use std::str::FromStr;
use std::sync::Arc;

/// What becomes of a database that is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum WhenMissing {
    Make,
    Refuse,
}

/// Opens the database without looking at its tables. SQLite files are made here and nowhere else.
///
/// # Errors
/// [`Error::Missing`] for an SQLite file that is not there and is not to be made, [`Error::Unopened`].
pub(super) async fn connect(url: &str, when_missing: WhenMissing) -> Result<(AnyPool, Arc<Disk>)> {
    sqlx::any::install_default_drivers();
    let is_sqlite = url.starts_with("sqlite:");
    if is_sqlite && url.contains(":memory:") {
        return Err(Error::Unopened { why: "an in-memory database would lose every order at the end".into() });
    }
    let file = file_of(url)?;
    if let Some(file) = file.as_ref().filter(|file| !file.exists()) {
        if when_missing == WhenMissing::Refuse {
            return Err(Error::Missing { place: place(url) });
        }
        private::new_file(file).map_err(|error| Error::Unopened { why: format!("{}: {error}", file.display()) })?;
    }
    let disk = Arc::new(Disk::of(file.as_deref())?);
    let (connected, acquired, released) = (Arc::clone(&disk), Arc::clone(&disk), Arc::clone(&disk));
    let full_url = if is_sqlite && !url.contains('?') { format!("{url}?mode=rw") } else { url.to_owned() };
    let pool = AnyPoolOptions::new()
        .max_connections(if is_sqlite { 4 } else { 8 })
        .acquire_timeout(BUSY_WAIT)
        .after_connect(move |connection, _| {
            let disk = Arc::clone(&connected);
            Box::pin(async move {
                if is_sqlite {
                    prepare(connection, &disk).await;
                }
                Ok(())
            })
        })
        .before_acquire(move |connection, metadata| Box::pin(is_sound(connection, metadata, Arc::clone(&acquired))))
        .after_release(move |connection, metadata| Box::pin(is_sound(connection, metadata, Arc::clone(&released))))
        .connect(&full_url)
        .await
        .map_err(Error::unopened)?;
    if is_sqlite {
        // Where the file system does not allow a log, SQLite keeps another kind of journal.
        let mode = sqlx::query("PRAGMA journal_mode").fetch_one(&pool).await.map_err(Error::unopened)?;
        disk.has_log(mode.text("journal_mode")? == "wal");
    }
    Ok((pool, disk))
}

/// Sets up a new connection to SQLite. Where that fails, the first statement will say so: the pool would try again for as long
/// as anybody waits, and then not say why. The settings are those that SQLite has anyway, once the file has a log.
async fn prepare(connection: &mut AnyConnection, disk: &Disk) {
    // FULL: an order that was acknowledged must survive the plug being pulled.
    let wait = BUSY_WAIT.as_millis();
    let text = format!("PRAGMA busy_timeout = {wait}; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;");
    if let Err(error) = connection.execute(sqlx::AssertSqlSafe(text)).await {
        disk.failed(&error.into());
    }
}

/// Whether a connection may be used again: it is in no transaction and has lived through no failure.
///
/// SQLite takes a transaction back by itself when the disk is full or fails (sqlite.org, "Result Codes returned by transaction
/// statements"). The driver does not notice; its own rollback fails, it goes on counting one transaction as open, and begins
/// savepoints in place of transactions: their release commits nothing.
async fn is_sound(
    connection: &mut AnyConnection,
    metadata: PoolConnectionMetadata,
    disk: Arc<Disk>,
) -> sqlx::Result<bool> {
    if planted::is_on(Bug::ReuseFailedConnection) {
        return Ok(true);
    }
    if connection.is_in_transaction() {
        // The rollback of a transaction that was dropped may still be under way; it is over before this is answered.
        connection.ping().await?;
    }
    Ok(!connection.is_in_transaction() && !disk.is_suspect(metadata.age))
}

/// The file that an SQLite URL names, as the driver reads it.
pub(super) fn file_of(url: &str) -> Result<Option<PathBuf>> {
    if !url.starts_with("sqlite:") {
        return Ok(None);
    }
    let url = AnyConnectOptions::from_str(url).map_err(Error::unopened)?.database_url;
    let options = SqliteConnectOptions::from_str(url.as_str()).map_err(Error::unopened)?;
    Ok(Some(options.get_filename().to_owned()))
}

/// A database as people are told of it: the file's whole path, or a server's address without who logs in.
pub fn place(url: &str) -> String {
    if let Ok(Some(file)) = file_of(url) {
        return std::path::absolute(&file).unwrap_or(file).display().to_string();
    }
    let bare = url.split('?').next().unwrap_or_default();
    match (bare.split_once("://"), bare.rsplit_once('@')) {
        (Some((scheme, _)), Some((_, address))) => format!("{scheme}://{address}"),
        _ => bare.to_owned(),
    }
}
