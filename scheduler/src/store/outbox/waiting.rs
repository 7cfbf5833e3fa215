//! What waits in the outbox: when the next may go, how much there is, and what an outage has kept back.

use super::super::row::Columns;
use super::super::{Result, Tx, held};
use super::TOO_LATE;
use crate::clock::UtcSeconds;
use std::collections::BTreeMap;

/// When the next message may be tried, if any waits or is held.
pub async fn next_due(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    Ok(waiting_due(tx).await?.into_iter().chain(held::next_due(tx).await?).min())
}

/// When the next message that is not held may be tried, if any waits. One behind an earlier message of its chat waits for
/// that one.
pub async fn waiting_due(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    let query = sqlx::query(
        "SELECT MIN(first.not_before) AS due FROM outbox AS first
         WHERE first.sent_at IS NULL AND first.failed_at IS NULL
           AND (first.lane = 2 OR NOT EXISTS (
               SELECT 1 FROM outbox AS earlier
               WHERE earlier.chat_id = first.chat_id AND earlier.lane = first.lane AND earlier.id < first.id
                 AND earlier.sent_at IS NULL AND earlier.failed_at IS NULL))",
    );
    tx.one(query).await?.instant_opt("due")
}

/// What waits and what never went out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Depth {
    pub waiting: i64,
    /// When the oldest of them was written.
    pub oldest_at: Option<UtcSeconds>,
    pub set_aside: i64,
}

/// How full the outbox is.
pub async fn depth(tx: &mut Tx) -> Result<Depth> {
    let query = sqlx::query(
        "SELECT COUNT(*) AS waiting, MIN(made_at) AS oldest_at FROM outbox WHERE sent_at IS NULL AND failed_at IS NULL",
    );
    let row = tx.one(query).await?;
    let (waiting, oldest_at) = (row.integer("waiting")?, row.instant_opt("oldest_at")?);
    let row = tx.one(sqlx::query("SELECT COUNT(*) AS set_aside FROM outbox WHERE failed_at IS NOT NULL")).await?;
    Ok(Depth { waiting, oldest_at, set_aside: row.integer("set_aside")? })
}

/// What an outage did to the messages.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptBack {
    /// Messages that people read and that wait now.
    pub waiting: i64,
    /// How many messages to each chat were left out since it began: they were of use no more.
    pub left_out: BTreeMap<i64, i64>,
}

/// Leaves out what is of use no more, and counts what an outage that began at `since` has kept back.
pub async fn kept_back(tx: &mut Tx, since: UtcSeconds, now: UtcSeconds) -> Result<KeptBack> {
    let query = sqlx::query(
        "UPDATE outbox SET failed_at = $1, reason = $2 WHERE sent_at IS NULL AND failed_at IS NULL
           AND leased_until IS NULL AND lane <> 2 AND useful_until <= $1",
    );
    tx.execute(query.bind(now.get()).bind(TOO_LATE)).await?;
    let query =
        sqlx::query("SELECT COUNT(*) AS waiting FROM outbox WHERE sent_at IS NULL AND failed_at IS NULL AND lane = 0");
    let waiting = tx.one(query).await?.integer("waiting")?;
    let query = sqlx::query(
        "SELECT chat_id, COUNT(*) AS messages FROM outbox WHERE failed_at >= $1 AND reason = $2 GROUP BY chat_id",
    );
    let rows = tx.all(query.bind(since.get()).bind(TOO_LATE)).await?;
    let left_out = rows.iter().map(|row| Ok((row.integer("chat_id")?, row.integer("messages")?)));
    Ok(KeptBack { waiting, left_out: left_out.collect::<Result<_>>()? })
}
