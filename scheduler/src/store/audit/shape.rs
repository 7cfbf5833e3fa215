//! The database's own checks, and whether it has every table, column, index and constraint that the migrations make. What
//! should be there is read from an empty database in memory, made by the same migrations; so nothing is listed twice.

use super::super::disk::Disk;
use super::super::row::Columns;
use super::super::schema::{self, Table};
use super::super::{Error, MIGRATIONS, Result, Store, Tx};
use super::{Deed, Fault, first_of, or_unasked};
use sqlx::any::AnyPoolOptions;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A column that refers to a row of another table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Reference {
    pub child: String,
    pub column: String,
    pub parent: String,
    pub parent_column: String,
}

/// What the migrations make.
pub(super) struct Expected {
    pub tables: Vec<Table>,
    /// The columns of each table's primary key.
    pub keys: BTreeMap<String, Vec<String>>,
    pub references: Vec<Reference>,
    /// Each thing in words that are the same for both kinds of database.
    things: BTreeSet<String>,
    /// How each index is made.
    indexes: BTreeMap<String, String>,
}

const RESTORE: &str =
    "stop the bot, keep a copy of the database, and put the newest backup in its place with `pinset restore --replace`";

/// Reads what should be there.
pub(super) async fn expected() -> Result<Expected> {
    sqlx::any::install_default_drivers();
    let pool = AnyPoolOptions::new().max_connections(1).connect("sqlite::memory:").await.map_err(Error::unopened)?;
    MIGRATIONS.run(&pool).await.map_err(Error::from_migration)?;
    let store = Store::over(pool, Arc::new(Disk::of_nothing()))?;
    let mut tx = store.begin_reading().await?;
    let tables = schema::tables(&mut tx).await?;
    let things = things(&mut tx, &tables).await?;
    let mut keys: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in tx.all(sqlx::query(SQLITE_KEYS)).await? {
        keys.entry(row.text("table_name")?).or_default().push(row.text("column_name")?);
    }
    let mut references = Vec::new();
    for row in tx.all(sqlx::query(SQLITE_REFERENCES)).await? {
        references.push(Reference {
            child: row.text("table_name")?,
            column: row.text("column_name")?,
            parent: row.text("parent")?,
            parent_column: row.text("parent_column")?,
        });
    }
    let mut indexes = BTreeMap::new();
    for row in tx.all(sqlx::query(SQLITE_INDEXES)).await? {
        indexes.insert(row.text("name")?, row.text("made_by")?);
    }
    drop(tx);
    store.close().await;
    Ok(Expected { tables, keys, references, things, indexes })
}

/// What is missing or broken.
pub(super) async fn faults(store: &Store, expected: &Expected) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    let mut tx = store.begin_reading().await?;
    faults.extend(or_unasked(own_checks(&mut tx).await, &faults)?);
    let mut tx = store.begin_reading().await?;
    faults.extend(or_unasked(missing(&mut tx, expected).await, &faults)?);
    Ok(faults)
}

async fn missing(tx: &mut Tx, expected: &Expected) -> Result<Vec<Fault>> {
    let tables = schema::tables(tx).await?;
    let there = things(tx, &tables).await?;
    let missing: Vec<&String> = expected.things.difference(&there).collect();
    let gone: BTreeSet<&str> = missing.iter().filter_map(|thing| thing.strip_prefix("the table ")).collect();
    let mut faults = Vec::new();
    for thing in missing {
        // Of a table that is missing nothing else is said.
        let of = thing.split_once(" of ").map(|(_, table)| table);
        if of.is_some_and(|table| gone.contains(table)) {
            continue;
        }
        let index = thing.strip_prefix("the index ").and_then(|rest| rest.split(' ').next());
        let made_by = index.and_then(|name| expected.indexes.get(name));
        faults.push(Fault {
            what: format!("{thing} is missing"),
            mend: match made_by {
                Some(_) => "`pinset check --mend` makes it again; nothing is lost without it, it is only slow".into(),
                None => RESTORE.into(),
            },
            by_itself: made_by.map(|made_by| Deed::new(made_by.clone(), Vec::new(), format!("made {thing} again"))),
        });
    }
    Ok(faults)
}

/// What the database itself says of itself.
async fn own_checks(tx: &mut Tx) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    let question = if tx.is_sqlite() { SQLITE_INTEGRITY } else { POSTGRES_UNSOUND };
    for row in tx.all(sqlx::query(question)).await? {
        let problem = row.text("problem")?;
        if problem != "ok" {
            // An index can be made again from its table.
            let is_index = problem.contains("index");
            let deed = if tx.is_sqlite() { "REINDEX" } else { "REINDEX SCHEMA CONCURRENTLY" };
            faults.push(Fault {
                what: format!("the database says of itself: {problem}"),
                mend: if is_index {
                    format!("run {deed} in the database; if it says so again: {RESTORE}")
                } else {
                    RESTORE.into()
                },
                by_itself: (is_index && tx.is_sqlite())
                    .then(|| Deed::new("REINDEX", Vec::new(), "made every index again from its table")),
            });
        }
    }
    Ok(first_of(faults))
}

const SQLITE_INTEGRITY: &str = "SELECT integrity_check AS problem FROM pragma_integrity_check";
/// Constraints that were added without looking at the rows there were, and indexes that are not used because making them
/// failed (PostgreSQL documentation, "pg_constraint" and "pg_index").
const POSTGRES_UNSOUND: &str =
    "SELECT 'constraint ' || conname || ' of ' || CAST(conrelid AS regclass) || ' is not validated'
         AS problem
     FROM pg_constraint WHERE connamespace = CAST(current_schema() AS regnamespace) AND NOT convalidated
     UNION ALL
     SELECT 'index ' || CAST(indexrelid AS regclass) || ' is not valid' AS problem
     FROM pg_index JOIN pg_class ON pg_class.oid = pg_index.indexrelid
     WHERE pg_class.relnamespace = CAST(current_schema() AS regnamespace) AND NOT indisvalid";

const SQLITE_KEYS: &str = "SELECT m.name AS table_name, c.name AS column_name
     FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
     WHERE m.type = 'table' AND c.pk > 0 AND m.name NOT LIKE 'sqlite!_%' ESCAPE '!' AND m.name <> '_sqlx_migrations'
     ORDER BY m.name, c.pk";
const SQLITE_REFERENCES: &str = "SELECT m.name AS table_name, f.\"from\" AS column_name, f.\"table\" AS parent,
            f.\"to\" AS parent_column
     FROM sqlite_master AS m JOIN pragma_foreign_key_list(m.name) AS f
     WHERE m.type = 'table' ORDER BY m.name, f.\"from\"";
const SQLITE_INDEXES: &str = "SELECT name, tbl_name AS table_name, sql AS made_by FROM sqlite_master
     WHERE type = 'index' AND sql IS NOT NULL ORDER BY name";
const SQLITE_NEEDED: &str = "SELECT m.name AS table_name, c.name AS column_name
     FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
     WHERE m.type = 'table' AND c.\"notnull\" = 1 AND m.name NOT LIKE 'sqlite!_%' ESCAPE '!' AND m.name <> '_sqlx_migrations'";
const SQLITE_UNIQUE: &str = "SELECT m.name AS table_name, i.name AS index_name, c.name AS column_name
     FROM sqlite_master AS m JOIN pragma_index_list(m.name) AS i JOIN pragma_index_info(i.name) AS c
     WHERE m.type = 'table' AND i.origin = 'u' ORDER BY m.name, i.name, c.seqno";
const SQLITE_TEXTS: &str = "SELECT name AS table_name, sql AS made_by FROM sqlite_master
     WHERE type = 'table' AND name NOT LIKE 'sqlite!_%' ESCAPE '!' AND name <> '_sqlx_migrations'";

const POSTGRES_NEEDED: &str = "SELECT CAST(table_name AS TEXT) AS table_name, CAST(column_name AS TEXT) AS column_name
     FROM information_schema.columns
     WHERE table_schema = current_schema() AND is_nullable = 'NO' AND table_name <> '_sqlx_migrations'";
const POSTGRES_INDEXES: &str = "SELECT CAST(indexname AS TEXT) AS name, CAST(tablename AS TEXT) AS table_name
     FROM pg_indexes WHERE schemaname = current_schema()";
const POSTGRES_CONSTRAINTS: &str = "SELECT CAST(t.relname AS TEXT) AS table_name, CAST(r.conname AS TEXT) AS name,
            CAST(r.contype AS TEXT) AS kind, CAST(COALESCE(parent.relname, '') AS TEXT) AS parent,
            COALESCE((SELECT string_agg(CAST(a.attname AS TEXT), ', ' ORDER BY place.number)
                      FROM unnest(r.conkey) WITH ORDINALITY AS place (attribute, number)
                      JOIN pg_attribute AS a ON a.attrelid = r.conrelid AND a.attnum = place.attribute), '') AS columns
     FROM pg_constraint AS r JOIN pg_class AS t ON t.oid = r.conrelid
     LEFT JOIN pg_class AS parent ON parent.oid = r.confrelid
     WHERE t.relnamespace = CAST(current_schema() AS regnamespace) AND t.relname <> '_sqlx_migrations'";

/// Everything a database has, in words that are the same for both kinds.
async fn things(tx: &mut Tx, tables: &[Table]) -> Result<BTreeSet<String>> {
    let mut things = BTreeSet::new();
    for table in tables {
        things.insert(format!("the table {}", table.name));
        for column in &table.columns {
            things.insert(format!("the column {} ({:?}) of {}", column.name, column.kind, table.name));
        }
    }
    let (needed, indexes) =
        if tx.is_sqlite() { (SQLITE_NEEDED, SQLITE_INDEXES) } else { (POSTGRES_NEEDED, POSTGRES_INDEXES) };
    for row in tx.all(sqlx::query(needed)).await? {
        things.insert(needs_value(&row.text("column_name")?, &row.text("table_name")?));
    }
    for row in tx.all(sqlx::query(indexes)).await? {
        things.insert(format!("the index {} of {}", row.text("name")?, row.text("table_name")?));
    }
    if tx.is_sqlite() {
        sqlite_constraints(tx, &mut things).await?;
    } else {
        postgres_constraints(tx, &mut things).await?;
    }
    Ok(things)
}

fn needs_value(column: &str, table: &str) -> String {
    format!("the rule that {column} is never empty of {table}")
}

fn key_of(columns: &str, table: &str) -> String {
    format!("the primary key ({columns}) of {table}")
}

fn unique(columns: &str, table: &str) -> String {
    format!("the rule that ({columns}) is unique of {table}")
}

fn refers(columns: &str, parent: &str, table: &str) -> String {
    format!("the reference from {columns} to {parent} of {table}")
}

fn rule(name: &str, table: &str) -> String {
    format!("the rule {name} of {table}")
}

async fn sqlite_constraints(tx: &mut Tx, things: &mut BTreeSet<String>) -> Result<()> {
    let mut keys: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in tx.all(sqlx::query(SQLITE_KEYS)).await? {
        keys.entry(row.text("table_name")?).or_default().push(row.text("column_name")?);
    }
    things.extend(keys.iter().map(|(table, columns)| key_of(&columns.join(", "), table)));
    let mut unique_columns: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for row in tx.all(sqlx::query(SQLITE_UNIQUE)).await? {
        let index = (row.text("table_name")?, row.text("index_name")?);
        unique_columns.entry(index).or_default().push(row.text("column_name")?);
    }
    things.extend(unique_columns.iter().map(|((table, _), columns)| unique(&columns.join(", "), table)));
    for row in tx.all(sqlx::query(SQLITE_REFERENCES)).await? {
        things.insert(refers(&row.text("column_name")?, &row.text("parent")?, &row.text("table_name")?));
    }
    for row in tx.all(sqlx::query(SQLITE_TEXTS)).await? {
        let (table, made_by) = (row.text("table_name")?, row.text("made_by")?);
        let words: Vec<&str> = made_by.split_whitespace().collect();
        for three in words.windows(3).filter(|three| three[0] == "CONSTRAINT" && three[2].starts_with("CHECK")) {
            things.insert(rule(three[1], &table));
        }
    }
    Ok(())
}

async fn postgres_constraints(tx: &mut Tx, things: &mut BTreeSet<String>) -> Result<()> {
    for row in tx.all(sqlx::query(POSTGRES_CONSTRAINTS)).await? {
        let (table, columns) = (row.text("table_name")?, row.text("columns")?);
        things.insert(match row.text("kind")?.as_str() {
            "p" => key_of(&columns, &table),
            "u" => unique(&columns, &table),
            "f" => refers(&columns, &row.text("parent")?, &table),
            _ => rule(&row.text("name")?, &table),
        });
    }
    Ok(())
}
