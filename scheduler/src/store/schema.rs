//! What tables the database has, as the database itself says. This and [`super::Store::open`] are the only places where
//! SQLite and PostgreSQL are asked differently.

use super::row::Columns;
use super::{Error, Result, Tx};
use std::collections::BTreeSet;

/// What a column holds; the migrations know no other type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// BIGINT.
    Integer,
    /// TEXT.
    Text,
    /// DOUBLE PRECISION.
    Double,
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    pub name: String,
    pub kind: Kind,
}

/// One table of the farm's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    pub name: String,
    pub columns: Vec<Column>,
}

const SQLITE_COLUMNS: &str = "SELECT m.name AS table_name, c.name AS column_name, c.type AS kind
     FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
     WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite!_%' ESCAPE '!' AND m.name <> '_sqlx_migrations'
     ORDER BY m.name, c.cid";
const SQLITE_REFERENCES: &str = "SELECT DISTINCT m.name AS table_name, f.\"table\" AS refers_to
     FROM sqlite_master AS m JOIN pragma_foreign_key_list(m.name) AS f WHERE m.type = 'table'";
const POSTGRES_COLUMNS: &str =
    "SELECT CAST(c.table_name AS TEXT) AS table_name, CAST(c.column_name AS TEXT) AS column_name,
            CAST(c.data_type AS TEXT) AS kind
     FROM information_schema.columns AS c
     JOIN information_schema.tables AS t ON t.table_schema = c.table_schema AND t.table_name = c.table_name
     WHERE c.table_schema = current_schema() AND t.table_type = 'BASE TABLE' AND c.table_name <> '_sqlx_migrations'
     ORDER BY c.table_name, c.ordinal_position";
const POSTGRES_REFERENCES: &str = "SELECT DISTINCT CAST(child.relname AS TEXT) AS table_name,
            CAST(parent.relname AS TEXT) AS refers_to
     FROM pg_constraint AS r JOIN pg_class AS child ON child.oid = r.conrelid
     JOIN pg_class AS parent ON parent.oid = r.confrelid
     WHERE r.contype = 'f' AND child.relnamespace = CAST(current_schema() AS regnamespace)";

/// The farm's tables, each after those it refers to.
///
/// # Errors
/// [`Error::Malformed`] when a column has a type no migration gives.
pub(super) async fn tables(tx: &mut Tx) -> Result<Vec<Table>> {
    let (columns, references) =
        if tx.is_sqlite() { (SQLITE_COLUMNS, SQLITE_REFERENCES) } else { (POSTGRES_COLUMNS, POSTGRES_REFERENCES) };
    let mut tables: Vec<Table> = Vec::new();
    for row in tx.all(sqlx::query(columns)).await? {
        let name = row.text("table_name")?;
        let column = Column { name: row.text("column_name")?, kind: kind(&row.text("kind")?)? };
        match tables.last_mut().filter(|table| table.name == name) {
            Some(table) => table.columns.push(column),
            None => tables.push(Table { name, columns: vec![column] }),
        }
    }
    let mut refers: BTreeSet<(String, String)> = BTreeSet::new();
    for row in tx.all(sqlx::query(references)).await? {
        let (child, parent) = (row.text("table_name")?, row.text("refers_to")?);
        if child != parent {
            refers.insert((child, parent));
        }
    }
    Ok(in_order(tables, &refers))
}

/// Whether there is no table at all.
pub(super) async fn is_empty(tx: &mut Tx) -> Result<bool> {
    let columns = if tx.is_sqlite() { SQLITE_COLUMNS } else { POSTGRES_COLUMNS };
    Ok(tx.optional(sqlx::query(columns)).await?.is_none())
}

/// The number of the last migration that was run.
pub(super) async fn version(tx: &mut Tx) -> Result<i64> {
    tx.one(sqlx::query("SELECT MAX(version) AS version FROM _sqlx_migrations")).await?.integer("version")
}

fn kind(name: &str) -> Result<Kind> {
    match name.to_ascii_uppercase().as_str() {
        "BIGINT" => Ok(Kind::Integer),
        "TEXT" => Ok(Kind::Text),
        "DOUBLE PRECISION" => Ok(Kind::Double),
        _ => Err(Error::malformed("a column's type", name)),
    }
}

/// Sorts tables behind those they refer to; in a ring, which no migration makes, the names decide.
fn in_order(mut waiting: Vec<Table>, refers: &BTreeSet<(String, String)>) -> Vec<Table> {
    let mut sorted: Vec<Table> = Vec::with_capacity(waiting.len());
    while !waiting.is_empty() {
        let is_free = |table: &Table| {
            refers.iter().all(|(child, parent)| *child != table.name || sorted.iter().any(|one| one.name == *parent))
        };
        let next = waiting.iter().position(is_free).unwrap_or(0);
        sorted.push(waiting.remove(next));
    }
    sorted
}
