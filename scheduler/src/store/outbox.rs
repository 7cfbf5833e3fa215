//! Messages to be sent: written with the state they tell of, sent afterwards, marked when the service has answered.

use super::row::Columns;
use super::{Result, Tx, held};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::planted::{self, Bug};

/// A message claimed for sending.
#[derive(Clone, Debug)]
pub struct Waiting {
    pub id: Id,
    pub chat_id: i64,
    /// What to send, as JSON of the sender's own form.
    pub body: String,
    /// Times it was tried before.
    pub tries: i64,
    /// Somebody waits for it.
    pub is_answer: bool,
    /// The update or occurrence it was written for; none for messages older than the mark.
    pub cause: Option<String>,
}

/// How urgent a message is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Urgency {
    /// Somebody has just pressed or typed and waits.
    Answer,
    /// A notice nobody waits for.
    Notice,
    /// An answer to somebody who has not joined: it waits for everybody else's.
    Stranger,
}

/// Writes a message to be sent to `chat_id` as soon as may be.
pub async fn put(tx: &mut Tx, chat_id: i64, urgency: Urgency, body: &str, now: UtcSeconds) -> Result<Id> {
    let id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO outbox (id, chat_id, urgency, body, made_at, not_before, tries, cause)
         VALUES ($1, $2, $3, $4, $5, $5, 0, $6)",
    );
    let cause = tx.cause.clone();
    let urgency = match urgency {
        Urgency::Answer => 0_i64,
        Urgency::Notice => 1,
        Urgency::Stranger if planted::is_on(Bug::StrangersFirst) => -1,
        Urgency::Stranger => 2,
    };
    tx.execute(query.bind(id.get()).bind(chat_id).bind(urgency).bind(body.to_owned()).bind(now.get()).bind(cause))
        .await?;
    Ok(id)
}

const CLAIM: &str = "UPDATE outbox SET leased_until = $1, tries = tries + 1
         WHERE id IN (
             SELECT first.id FROM outbox AS first
             WHERE first.sent_at IS NULL AND first.failed_at IS NULL AND first.not_before <= $2
               AND (first.leased_until IS NULL OR first.leased_until <= $2)
               AND NOT EXISTS (
                   SELECT 1 FROM outbox AS earlier
                   WHERE earlier.chat_id = first.chat_id AND earlier.id < first.id
                     AND earlier.sent_at IS NULL AND earlier.failed_at IS NULL)
             ORDER BY first.urgency, first.id LIMIT $3)
         RETURNING id, chat_id, urgency, body, tries, cause";

/// Takes in what was held until now, then claims up to `most` messages until `leased_until`: at most one a chat and always
/// that chat's oldest, so that a chat reads its messages in the order they were written. Answers come before notices.
pub async fn claim(tx: &mut Tx, now: UtcSeconds, leased_until: UtcSeconds, most: i64) -> Result<Vec<Waiting>> {
    held::release_due(tx, now).await?;
    // Planted: any of the chat's messages will do.
    let text = if planted::is_on(Bug::OvertakeInChat) {
        "UPDATE outbox SET leased_until = $1, tries = tries + 1
         WHERE id IN (
             SELECT id FROM outbox
             WHERE sent_at IS NULL AND failed_at IS NULL AND not_before <= $2
               AND (leased_until IS NULL OR leased_until <= $2)
             ORDER BY urgency, id LIMIT $3)
         RETURNING id, chat_id, urgency, body, tries, cause"
    } else {
        CLAIM
    };
    let query = sqlx::query(text);
    let rows = tx.all(query.bind(leased_until.get()).bind(now.get()).bind(most)).await?;
    let mut claimed = rows
        .iter()
        .map(|row| {
            let waiting = Waiting {
                id: row.id("id")?,
                chat_id: row.integer("chat_id")?,
                body: row.text("body")?,
                tries: row.integer("tries")? - 1,
                is_answer: row.integer("urgency")? == 0,
                cause: row.text_opt("cause")?,
            };
            Ok(waiting)
        })
        .collect::<Result<Vec<_>>>()?;
    claimed.sort_by_key(|waiting| (!waiting.is_answer, waiting.id));
    Ok(claimed)
}

/// Marks a message as sent.
pub async fn mark_sent(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE outbox SET sent_at = $2, leased_until = NULL WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(now.get())).await?;
    Ok(())
}

/// Gives a message back, not to be tried before `not_before`.
pub async fn put_back(tx: &mut Tx, id: Id, not_before: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE outbox SET not_before = $2, leased_until = NULL WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(not_before.get())).await?;
    Ok(())
}

/// Sets a message aside for good, with the reason.
pub async fn set_aside(tx: &mut Tx, id: Id, reason: &str, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE outbox SET failed_at = $2, reason = $3, leased_until = NULL WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(now.get()).bind(reason.to_owned())).await?;
    Ok(())
}

/// The newest messages of a chat, sent or not, the newest first: at most `most`.
pub async fn newest_of(tx: &mut Tx, chat_id: i64, most: i64) -> Result<Vec<String>> {
    let query = sqlx::query("SELECT body FROM outbox WHERE chat_id = $1 ORDER BY id DESC LIMIT $2");
    let rows = tx.all(query.bind(chat_id).bind(most)).await?;
    rows.iter().map(|row| row.text("body")).collect()
}

/// The newest message of all.
pub async fn last(tx: &mut Tx) -> Result<Option<Id>> {
    let row = tx.one(sqlx::query("SELECT MAX(id) AS id FROM outbox")).await?;
    row.id_opt("id")
}

/// A message as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    pub id: Id,
    pub chat_id: i64,
    pub body: String,
    pub made_at: UtcSeconds,
    pub sent_at: Option<UtcSeconds>,
    pub failed_at: Option<UtcSeconds>,
}

/// Every message made after the one with this identifier, oldest first.
pub async fn after(tx: &mut Tx, id: Id) -> Result<Vec<Kept>> {
    let query =
        sqlx::query("SELECT id, chat_id, body, made_at, sent_at, failed_at FROM outbox WHERE id > $1 ORDER BY id");
    let rows = tx.all(query.bind(id.get())).await?;
    rows.iter()
        .map(|row| {
            Ok(Kept {
                id: row.id("id")?,
                chat_id: row.integer("chat_id")?,
                body: row.text("body")?,
                made_at: row.instant("made_at")?,
                sent_at: row.instant_opt("sent_at")?,
                failed_at: row.instant_opt("failed_at")?,
            })
        })
        .collect()
}

/// Releases every lease: at start, a message that the last run held was in flight and is tried again.
pub async fn release_leases(tx: &mut Tx) -> Result<u64> {
    tx.execute(sqlx::query("UPDATE outbox SET leased_until = NULL WHERE leased_until IS NOT NULL")).await
}

/// Sends what waits or is held for a group to the supergroup that it has become.
pub async fn redirect(tx: &mut Tx, from_chat: i64, to_chat: i64) -> Result<()> {
    let query = sqlx::query(
        "UPDATE outbox SET chat_id = $2, leased_until = NULL WHERE chat_id = $1 AND sent_at IS NULL AND failed_at IS NULL",
    );
    tx.execute(query.bind(from_chat).bind(to_chat)).await?;
    held::redirect(tx, from_chat, to_chat).await
}

/// Sets everything that waits aside for good, with the reason, and forgets what is held; how many messages waited.
pub async fn set_waiting_aside(tx: &mut Tx, reason: &str, now: UtcSeconds) -> Result<u64> {
    let query = sqlx::query(
        "UPDATE outbox SET failed_at = $1, reason = $2, leased_until = NULL WHERE sent_at IS NULL AND failed_at IS NULL",
    );
    let waiting = tx.execute(query.bind(now.get()).bind(reason.to_owned())).await?;
    tx.execute(sqlx::query("DELETE FROM held")).await?;
    Ok(waiting)
}

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
           AND NOT EXISTS (
               SELECT 1 FROM outbox AS earlier
               WHERE earlier.chat_id = first.chat_id AND earlier.id < first.id
                 AND earlier.sent_at IS NULL AND earlier.failed_at IS NULL)",
    );
    tx.one(query).await?.instant_opt("due")
}

/// Messages set aside, newest first: chat, reason, when.
pub async fn set_aside_list(tx: &mut Tx, most: i64) -> Result<Vec<(i64, String, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT chat_id, reason, failed_at FROM outbox WHERE failed_at IS NOT NULL ORDER BY failed_at DESC, id DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(most)).await?;
    rows.iter().map(|row| Ok((row.integer("chat_id")?, row.text("reason")?, row.instant("failed_at")?))).collect()
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

/// What each message of one cause became, oldest first: whether it was sent.
pub async fn of_cause(tx: &mut Tx, cause: &str) -> Result<Vec<(Id, bool)>> {
    let query = sqlx::query("SELECT id, sent_at FROM outbox WHERE cause = $1 ORDER BY id").bind(cause.to_owned());
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.id("id")?, row.instant_opt("sent_at")?.is_some()))).collect()
}

/// How many messages were sent so far.
pub async fn sent_count(tx: &mut Tx) -> Result<i64> {
    tx.one(sqlx::query("SELECT COUNT(*) AS sent FROM outbox WHERE sent_at IS NOT NULL")).await?.integer("sent")
}
