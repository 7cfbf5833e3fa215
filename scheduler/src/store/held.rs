//! Messages that wait for the end of quiet hours, or for others to go with. Rule: what waits can still be rewritten or
//! taken back, so nothing stale is sent; a due message enters the outbox at its end.

use super::outbox::{self, Lane, Urgency};
use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;

/// A message to be held.
#[derive(Clone, Debug)]
pub struct New<'a> {
    pub chat_id: i64,
    /// The card it will be; `None` for a plain notice.
    pub card: Option<&'a str>,
    /// What to send, as JSON of the sender's own form.
    pub body: &'a str,
    pub due_at: UtcSeconds,
    /// From then on it is not worth sending.
    pub useful_until: Option<UtcSeconds>,
}

/// Holds a message.
pub async fn put(tx: &mut Tx, new: New<'_>, now: UtcSeconds) -> Result<()> {
    let id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO held (id, chat_id, card, body, due_at, useful_until, cause) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    );
    let cause = tx.cause.clone();
    let query = query.bind(id.get()).bind(new.chat_id).bind(new.card.map(str::to_owned)).bind(new.body.to_owned());
    tx.execute(query.bind(new.due_at.get()).bind(new.useful_until.map(UtcSeconds::get)).bind(cause)).await?;
    Ok(())
}

/// Takes back the held message that would become this card; when it was due, or `None` where nothing was held.
pub async fn take_back(tx: &mut Tx, chat_id: i64, card: &str) -> Result<Option<UtcSeconds>> {
    let query = sqlx::query("DELETE FROM held WHERE chat_id = $1 AND card = $2 RETURNING due_at");
    let row = tx.optional(query.bind(chat_id).bind(card.to_owned())).await?;
    row.map(|row| row.instant("due_at")).transpose()
}

/// Whether the card waits in this chat.
pub async fn holds(tx: &mut Tx, chat_id: i64, card: &str) -> Result<bool> {
    let query = sqlx::query("SELECT id FROM held WHERE chat_id = $1 AND card = $2");
    Ok(tx.optional(query.bind(chat_id).bind(card.to_owned())).await?.is_some())
}

/// Takes back everything held for a chat.
pub async fn take_back_all(tx: &mut Tx, chat_id: i64) -> Result<()> {
    tx.execute(sqlx::query("DELETE FROM held WHERE chat_id = $1").bind(chat_id)).await?;
    Ok(())
}

/// The chat's newest held message where that is a plain notice due by `due_at`: others may be added to it.
pub async fn last_plain(tx: &mut Tx, chat_id: i64, due_at: UtcSeconds) -> Result<Option<(Id, String)>> {
    let query = sqlx::query("SELECT id, card, body, due_at FROM held WHERE chat_id = $1 ORDER BY id DESC LIMIT 1");
    let Some(row) = tx.optional(query.bind(chat_id)).await? else { return Ok(None) };
    let is_plain = row.text_opt("card")?.is_none() && row.instant("due_at")? <= due_at;
    Ok(if is_plain { Some((row.id("id")?, row.text("body")?)) } else { None })
}

/// Puts another text in the place of a held message's, with something added that is worth sending until `useful_until`: both
/// go as long as one of them is.
pub async fn rewrite(tx: &mut Tx, id: Id, body: &str, useful_until: Option<UtcSeconds>) -> Result<()> {
    let query = sqlx::query(
        "UPDATE held SET body = $2, useful_until = CASE WHEN useful_until > $3 THEN useful_until
           WHEN useful_until <= $3 THEN $3 END
         WHERE id = $1",
    );
    let query = query.bind(id.get()).bind(body.to_owned()).bind(useful_until.map(UtcSeconds::get));
    tx.execute(query).await?;
    Ok(())
}

/// Another time for everything held for a chat, unless it is due earlier.
pub async fn set_due(tx: &mut Tx, chat_id: i64, due_at: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE held SET due_at = $2 WHERE chat_id = $1 AND due_at > $2");
    tx.execute(query.bind(chat_id).bind(due_at.get())).await?;
    Ok(())
}

/// What is held for a chat goes to another: a group has become a supergroup, or a person writes from a new account.
pub async fn redirect(tx: &mut Tx, from_chat: i64, to_chat: i64) -> Result<()> {
    let query = sqlx::query(
        "UPDATE button SET chat_id = $2 WHERE chat_id = $1
         AND card IN (SELECT card FROM held WHERE chat_id = $1 AND card IS NOT NULL)",
    );
    tx.execute(query.bind(from_chat).bind(to_chat)).await?;
    tx.execute(sqlx::query("UPDATE held SET chat_id = $2 WHERE chat_id = $1").bind(from_chat).bind(to_chat)).await?;
    Ok(())
}

/// Moves what is due into the outbox, oldest first, and forgets what is no longer worth sending.
pub async fn release_due(tx: &mut Tx, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("SELECT id FROM held WHERE due_at <= $1 ORDER BY due_at, id");
    let rows = tx.all(query.bind(now.get())).await?;
    for row in &rows {
        release(tx, row.id("id")?, now).await?;
    }
    Ok(())
}

/// Moves the plain notices that are held for a chat until `due_at` at the latest into the outbox: something else is
/// about to be said there.
pub async fn release_plain(tx: &mut Tx, (chat_id, due_at): (i64, UtcSeconds), now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("SELECT id FROM held WHERE chat_id = $1 AND card IS NULL AND due_at <= $2 ORDER BY id");
    let rows = tx.all(query.bind(chat_id).bind(due_at.get())).await?;
    for row in &rows {
        release(tx, row.id("id")?, now).await?;
    }
    Ok(())
}

async fn release(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("DELETE FROM held WHERE id = $1 RETURNING chat_id, card, body, useful_until, cause");
    let Some(row) = tx.optional(query.bind(id.get())).await? else { return Ok(()) };
    let useful_until = row.instant_opt("useful_until")?;
    if useful_until.is_some_and(|until| until <= now) {
        return Ok(());
    }
    let (chat_id, body, card) = (row.integer("chat_id")?, row.text("body")?, row.text_opt("card")?);
    // The message is its own cause's, whoever lets it go.
    let letting_go = std::mem::replace(&mut tx.cause, row.text_opt("cause")?);
    let (body, card, urgency) = (body.as_str(), card.as_deref(), Urgency::Notice);
    let new = outbox::New { chat_id, urgency, lane: Lane::Chat, body, card, useful_until, not_before: now };
    let put = outbox::put_new(tx, new, now).await;
    tx.cause = letting_go;
    put.map(|_| ())
}

/// When the next held message is due, if any is held.
pub async fn next_due(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    tx.one(sqlx::query("SELECT MIN(due_at) AS due FROM held")).await?.instant_opt("due")
}
