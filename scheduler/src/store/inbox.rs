//! Updates seen. The mark is made in the same transaction as what the update caused.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::planted::{self, Bug};

/// Marks an update as seen; `false` when it was seen before and must not be acted on again.
pub async fn mark_seen(tx: &mut Tx, update_id: i64, now: UtcSeconds) -> Result<bool> {
    if planted::is_on(Bug::ForgetInboxMark) {
        return Ok(true);
    }
    let query =
        sqlx::query("INSERT INTO inbox (update_id, received_at) VALUES ($1, $2) ON CONFLICT (update_id) DO NOTHING");
    Ok(tx.execute(query.bind(update_id).bind(now.get())).await? == 1)
}

/// Whether an update was seen.
pub async fn is_seen(tx: &mut Tx, update_id: i64) -> Result<bool> {
    let query = sqlx::query("SELECT update_id FROM inbox WHERE update_id = $1");
    Ok(tx.optional(query.bind(update_id)).await?.is_some())
}

/// The highest update seen, if any: polling may go on behind it.
pub async fn highest_seen(tx: &mut Tx) -> Result<Option<i64>> {
    let row = tx.one(sqlx::query("SELECT MAX(update_id) AS highest FROM inbox")).await?;
    row.integer_opt("highest")
}
