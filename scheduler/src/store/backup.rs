//! Everything in one file, and back. A backup is one consistent picture of a live database; it goes back into either
//! kind of database, also from one kind to the other, and an older one is brought up to date by the same migrations.

pub mod file;

use super::connection::WhenMissing;
use super::migrations::MIGRATIONS;
use super::schema::{self, Kind, Table};
use super::{Store, Tx, outbox};
use crate::clock::UtcSeconds;
use file::{Damage, Header, Line, Reader, Value, Writer};
use futures_util::TryStreamExt;
use sqlx::Row;
use sqlx::any::{AnyArguments, AnyRow};
use std::io::{Read, Write};

/// Values bound in one statement: far below what either database allows.
const VALUES_MAX: usize = 900;

/// Why a backup or a restore did not happen. Nothing has changed then.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the backup is damaged: {0}")]
    Damaged(#[from] Damage),
    #[error("the backup's tables are not those of its version: {0}")]
    Tables(String),
    #[error("the backup was written by a newer version of this program ({program}); use that version")]
    Newer { program: String },
    #[error("the database holds a farm already")]
    NotEmpty,
    #[error("the backup cannot be written: {0}")]
    Unwritten(#[from] std::io::Error),
    #[error(transparent)]
    Store(#[from] super::Error),
}

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Error {
        Error::Store(error.into())
    }
}

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contents {
    pub made_at: UtcSeconds,
    pub schema: i64,
    pub rows: u64,
}

/// Writes everything as it is at this moment to `to`, while others go on writing to the database.
///
/// # Errors
/// [`Error`]; what was written to `to` is then no backup.
pub async fn write<W: Write + Send>(store: &Store, to: W, now: UtcSeconds) -> Result<(W, Contents), Error> {
    let mut tx = store.begin_reading().await?;
    if !tx.is_sqlite() {
        // One picture for the whole transaction; SQLite gives no other.
        tx.execute(sqlx::query("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")).await?;
    }
    let schema = schema::version(&mut tx).await?;
    let mut writer = Writer::begin(to, &Header::new(schema, now.get()))?;
    for table in schema::tables(&mut tx).await? {
        writer.table(&table.name, table.columns.iter().map(|column| column.name.clone()).collect())?;
        let mut rows = rows_of(&mut tx, &table);
        while let Some(row) = rows.try_next().await? {
            writer.row(&values(&row, &table)?)?;
        }
    }
    let (to, rows) = writer.finish()?;
    Ok((to, Contents { made_at: now, schema, rows }))
}

/// Every table with every row, in the order of all columns.
fn rows_of<'t>(
    tx: &'t mut Tx,
    table: &Table,
) -> impl futures_util::Stream<Item = std::result::Result<AnyRow, sqlx::Error>> + Send + Unpin + 't {
    let columns: Vec<String> = table.columns.iter().map(|column| quoted(&column.name)).collect();
    let order: Vec<String> = (1..=columns.len()).map(|number| number.to_string()).collect();
    let text = format!("SELECT {} FROM {} ORDER BY {}", columns.join(", "), quoted(&table.name), order.join(", "));
    sqlx::query(sqlx::AssertSqlSafe(text)).fetch(&mut *tx.inner)
}

fn values(row: &AnyRow, table: &Table) -> Result<Vec<Value>, sqlx::Error> {
    let value = |(index, column): (usize, &schema::Column)| {
        Ok(match column.kind {
            Kind::Integer => row.try_get::<Option<i64>, _>(index)?.map(Value::Integer),
            Kind::Text => row.try_get::<Option<String>, _>(index)?.map(Value::Text),
            Kind::Double => row.try_get::<Option<f64>, _>(index)?.map(Value::Double),
        }
        .unwrap_or(Value::Null))
    };
    table.columns.iter().enumerate().map(value).collect()
}

/// Reads a backup to its end and says what it holds.
///
/// # Errors
/// [`Error::Damaged`] or [`Error::Newer`].
pub fn check(from: impl Read) -> Result<Contents, Error> {
    let (header, mut reader) = begin(from)?;
    let mut rows = 0;
    while let Some(line) = reader.next_line()? {
        rows += u64::from(matches!(line, Line::Row(_)));
    }
    Ok(Contents { made_at: UtcSeconds::new(header.made_at), schema: header.schema, rows })
}

fn begin<R: Read>(from: R) -> Result<(Header, Reader<R>), Error> {
    let (header, reader) = Reader::begin(from)?;
    if !MIGRATIONS.version_exists(header.schema) {
        return Err(Error::Newer { program: header.program });
    }
    Ok((header, reader))
}

/// Puts a backup into the database at `url`, in one transaction; with `replaces`, in place of what is there.
///
/// # Errors
/// [`Error`]; the database is then as it was.
pub async fn restore<R: Read + Send>(from: R, url: &str, replaces: bool) -> Result<Contents, Error> {
    Ok(put_back(from, url, replaces, None).await?.0)
}

/// The same, and sets aside what waited to be sent when the backup was made: most of it went out after that, and would go
/// out again. Gives how many messages that were.
///
/// # Errors
/// As [`restore`].
pub async fn restore_quietly<R: Read + Send>(
    from: R,
    url: &str,
    replaces: bool,
    now: UtcSeconds,
) -> Result<(Contents, u64), Error> {
    put_back(from, url, replaces, Some(now)).await
}

async fn put_back<R: Read + Send>(
    from: R,
    url: &str,
    replaces: bool,
    quiet_at: Option<UtcSeconds>,
) -> Result<(Contents, u64), Error> {
    let (header, mut reader) = begin(from)?;
    let store = Store::connect(url, WhenMissing::Make).await?;
    let mut tx = store.begin_reading().await?;
    make_room(&mut tx, replaces).await?;
    let migrated = MIGRATIONS.run_to(header.schema, &mut *tx.inner).await;
    migrated.map_err(super::Error::from_migration)?;
    let tables = schema::tables(&mut tx).await?;
    for table in tables.iter().rev() {
        tx.execute(sqlx::query(sqlx::AssertSqlSafe(format!("DELETE FROM {}", quoted(&table.name))))).await?;
    }
    let rows = fill(&mut tx, &mut reader, tables).await?;
    MIGRATIONS.run(&mut *tx.inner).await.map_err(super::Error::from_migration)?;
    let made_at = UtcSeconds::new(header.made_at);
    let set_aside = match quiet_at {
        Some(now) => outbox::set_waiting_aside(&mut tx, &format!("waited in the backup of {made_at}"), now).await?,
        None => 0,
    };
    tx.commit().await?;
    store.close().await;
    Ok((Contents { made_at, schema: header.schema, rows }, set_aside))
}

/// Takes away every table; refuses when one holds anything and it is not to be replaced.
async fn make_room(tx: &mut Tx, replaces: bool) -> Result<(), Error> {
    let tables = schema::tables(tx).await?;
    // The lock's one row comes with the migrations.
    for table in tables.iter().filter(|table| table.name != "farm_lock" && !replaces) {
        let text = format!("SELECT 1 AS one FROM {} LIMIT 1", quoted(&table.name));
        if tx.optional(sqlx::query(sqlx::AssertSqlSafe(text))).await?.is_some() {
            return Err(Error::NotEmpty);
        }
    }
    for table in tables.iter().rev() {
        tx.execute(sqlx::query(sqlx::AssertSqlSafe(format!("DROP TABLE {}", quoted(&table.name))))).await?;
    }
    tx.execute(sqlx::query("DROP TABLE IF EXISTS _sqlx_migrations")).await?;
    Ok(())
}

/// Writes the backup's rows; every table must come once, with exactly its columns.
async fn fill<R: Read>(tx: &mut Tx, reader: &mut Reader<R>, mut expected: Vec<Table>) -> Result<u64, Error> {
    let mut current: Option<Table> = None;
    let mut waiting: Vec<Vec<Value>> = Vec::new();
    let mut rows = 0;
    loop {
        let line = reader.next_line()?;
        let is_full = current.as_ref().is_some_and(|table| waiting.len() >= rows_at_once(table));
        if is_full || !matches!(line, Some(Line::Row(_))) {
            insert(tx, current.as_ref(), &mut waiting).await?;
        }
        match line {
            Some(Line::Row(values)) => {
                rows += 1;
                waiting.push(values);
            }
            Some(Line::Table { name, columns }) => {
                let found = expected.iter().position(|table| table.name == name);
                let mut table = expected.remove(found.ok_or(Error::Tables(name))?);
                table.columns = in_order_of(&table, &columns)?;
                current = Some(table);
            }
            None => break,
        }
    }
    match expected.first() {
        None => Ok(rows),
        Some(missing) => Err(Error::Tables(missing.name.clone())),
    }
}

/// The table's columns as the backup lists them.
fn in_order_of(table: &Table, columns: &[String]) -> Result<Vec<schema::Column>, Error> {
    let wrong = || Error::Tables(table.name.clone());
    let column = |name: &String| table.columns.iter().find(|column| column.name == *name).cloned().ok_or_else(wrong);
    let found = columns.iter().map(column).collect::<Result<Vec<_>, _>>()?;
    let is_each_once = table.columns.iter().all(|column| found.contains(column)) && found.len() == table.columns.len();
    if is_each_once { Ok(found) } else { Err(wrong()) }
}

fn rows_at_once(table: &Table) -> usize {
    (VALUES_MAX / table.columns.len().max(1)).max(1)
}

async fn insert(tx: &mut Tx, table: Option<&Table>, rows: &mut Vec<Vec<Value>>) -> Result<(), Error> {
    let (Some(table), false) = (table, rows.is_empty()) else { return Ok(()) };
    let columns: Vec<String> = table.columns.iter().map(|column| quoted(&column.name)).collect();
    let places = |row: usize| {
        let first = row * columns.len() + 1;
        let places: Vec<String> = (first..first + columns.len()).map(|number| format!("${number}")).collect();
        format!("({})", places.join(", "))
    };
    let places: Vec<String> = (0..rows.len()).map(places).collect();
    let text = format!("INSERT INTO {} ({}) VALUES {}", quoted(&table.name), columns.join(", "), places.join(", "));
    let mut query = sqlx::query(sqlx::AssertSqlSafe(text));
    for row in rows.drain(..) {
        for (value, column) in row.into_iter().zip(&table.columns) {
            query = bound(query, value, column).ok_or_else(|| Error::Tables(table.name.clone()))?;
        }
    }
    tx.execute(query).await?;
    Ok(())
}

type Query = sqlx::query::Query<'static, sqlx::Any, AnyArguments>;

/// Binds a value as its column's type; `None` when it is of another.
fn bound(query: Query, value: Value, column: &schema::Column) -> Option<Query> {
    Some(match (value, column.kind) {
        (Value::Null, Kind::Integer) => query.bind(None::<i64>),
        (Value::Null, Kind::Text) => query.bind(None::<String>),
        (Value::Null, Kind::Double) => query.bind(None::<f64>),
        (Value::Integer(number), Kind::Integer) => query.bind(number),
        (Value::Text(text), Kind::Text) => query.bind(text),
        (Value::Double(number), Kind::Double) => query.bind(number),
        _ => return None,
    })
}

/// A name as both databases quote it.
fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
