//! Rows that refer to a row that is not there. Both kinds of database refuse such rows; they come from a tool that turned the
//! refusal off, or from a damaged file. SQLite's own `foreign_key_check` is asked too: whatever it finds beyond these is told.

use super::super::backup::file::Value;
use super::super::row::Columns;
use super::super::{Result, Store, Tx};
use super::readable::named;
use super::shape::{Expected, Reference};
use super::{Deed, Fault, first_of, or_unasked};

/// Tables whose rows mean nothing alone: such a row is taken away.
const MEANINGLESS_ALONE: [&str; 2] = ["order_undo", "takeover"];

pub(super) async fn faults(store: &Store, expected: &Expected) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    for reference in &expected.references {
        let mut tx = store.begin_reading().await?;
        faults.extend(or_unasked(of(&mut tx, reference, expected).await, &faults)?);
    }
    let mut tx = store.begin_reading().await?;
    if tx.is_sqlite() {
        faults.extend(or_unasked(foreign_key_check(&mut tx, &faults).await, &faults)?);
    }
    Ok(faults)
}

async fn of(tx: &mut Tx, reference: &Reference, expected: &Expected) -> Result<Vec<Fault>> {
    let Reference { child, column, parent, parent_column } = reference;
    let keys = expected.keys.get(child).cloned().unwrap_or_default();
    let selected: Vec<String> = keys.iter().map(|key| format!("CAST(child.{key} AS TEXT) AS {key}")).collect();
    let text = format!(
        "SELECT {}, CAST(child.{column} AS TEXT) AS refers_to FROM {child} AS child WHERE child.{column} IS NOT NULL
         AND NOT EXISTS (SELECT 1 FROM {parent} AS parent WHERE parent.{parent_column} = child.{column}) ORDER BY 1",
        selected.join(", ")
    );
    let mut faults = Vec::new();
    for row in tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await? {
        let key: Vec<(String, String)> =
            keys.iter().map(|key| Ok((key.clone(), row.text(key)?))).collect::<Result<_>>()?;
        let row_name = named(child, &key);
        let what = format!("{row_name} has {column} {}, and there is no such {parent}", row.text("refers_to")?);
        let is_meaningless = MEANINGLESS_ALONE.contains(&child.as_str());
        faults.push(Fault {
            mend: if is_meaningless {
                "`pinset check --mend` deletes the row: it means nothing alone".into()
            } else {
                format!("put the {parent} back from a backup, or delete the row where nobody needs it")
            },
            what,
            by_itself: is_meaningless.then(|| {
                let conditions: Vec<String> =
                    (1..).zip(&key).map(|(place, (name, _))| format!("CAST({name} AS TEXT) = ${place}")).collect();
                let statement = format!("DELETE FROM {child} WHERE {}", conditions.join(" AND "));
                let values = key.into_iter().map(|(_, value)| Value::Text(value)).collect();
                Deed::new(statement, values, format!("deleted {row_name}"))
            }),
        });
    }
    Ok(first_of(faults))
}

async fn foreign_key_check(tx: &mut Tx, found: &[Fault]) -> Result<Vec<Fault>> {
    let query = sqlx::query("SELECT DISTINCT \"table\" AS child, parent FROM pragma_foreign_key_check ORDER BY 1, 2");
    let mut faults = Vec::new();
    for row in tx.all(query).await? {
        let (child, parent) = (row.text("child")?, row.text("parent")?);
        let is_told = |fault: &Fault| fault.what.starts_with(&format!("{child} ")) && fault.what.ends_with(&parent);
        if !found.iter().any(is_told) {
            faults.push(Fault {
                what: format!("the database says that {child} refers to rows of {parent} that are not there"),
                mend: "run PRAGMA foreign_key_check in the database, and put those rows back from a backup".into(),
                by_itself: None,
            });
        }
    }
    Ok(faults)
}
