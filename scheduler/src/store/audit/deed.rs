//! What `check --mend` does by itself. Rule: a deed takes away or sets only what nobody entered: marks, leases, waiting times,
//! dead buttons, indexes.

use super::super::backup::file::Value;
use super::super::{Result, Store};
use super::Fault;

/// One statement that mends a fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Deed {
    pub(super) statement: String,
    pub(super) values: Vec<Value>,
    /// What was done, as a sentence without its subject.
    pub(super) did: String,
}

// No deed holds a double.
impl Eq for Deed {}

impl Deed {
    pub(super) fn new(statement: impl Into<String>, values: Vec<Value>, did: impl Into<String>) -> Deed {
        Deed { statement: statement.into(), values, did: did.into() }
    }
}

/// Does what the faults' deeds say, in one transaction; what was done, with the number of rows.
///
/// # Errors
/// Whatever the store fails with; nothing is changed then.
pub async fn mend(store: &Store, faults: &[Fault]) -> Result<Vec<String>> {
    let mut deeds: Vec<&Deed> = Vec::new();
    for deed in faults.iter().filter_map(|fault| fault.by_itself.as_ref()) {
        if !deeds.contains(&deed) {
            deeds.push(deed);
        }
    }
    let mut tx = store.begin().await?;
    let mut did = Vec::new();
    for deed in deeds {
        let mut query = sqlx::query(sqlx::AssertSqlSafe(deed.statement.clone()));
        for value in deed.values.clone() {
            query = match value {
                Value::Null => query.bind(None::<i64>),
                Value::Integer(number) => query.bind(number),
                Value::Text(text) => query.bind(text),
                Value::Double(number) => query.bind(number),
            };
        }
        let rows = tx.execute(query).await?;
        did.push(if rows == 0 { deed.did.clone() } else { format!("{} (rows: {rows})", deed.did) });
    }
    tx.commit().await?;
    Ok(did)
}
