//! Settings made by chat, as named texts.

use super::row::Columns;
use super::{Result, Tx};

/// The text stored under `name`.
pub async fn get(tx: &mut Tx, name: &str) -> Result<Option<String>> {
    let row = tx.optional(sqlx::query("SELECT value FROM setting WHERE name = $1").bind(name.to_owned())).await?;
    row.map(|row| row.text("value")).transpose()
}

/// Forgets what is stored under `name`.
pub async fn remove(tx: &mut Tx, name: &str) -> Result<()> {
    tx.execute(sqlx::query("DELETE FROM setting WHERE name = $1").bind(name.to_owned())).await?;
    Ok(())
}

/// Stores `value` under `name`, in place of what was there.
pub async fn put(tx: &mut Tx, name: &str, value: &str) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO setting (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
    );
    tx.execute(query.bind(name.to_owned()).bind(value.to_owned())).await?;
    Ok(())
}
