//! Messages to be sent: written with the state they tell of, sent afterwards, marked when the service has answered.
//!
//! A message waits as long as it is useful. One that is the newer version of a card takes the place of the older one that
//! still waits ([`take_back`]).

mod waiting;

pub use waiting::{Depth, KeptBack, depth, kept_back, next_due, waiting_due};

use super::row::Columns;
use super::{Result, Tx, held};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::planted::{self, Bug};
use sqlx::any::AnyRow;

/// The reason noted with a message that nobody needs any more.
pub const TOO_LATE: &str = "no longer useful";

/// A message taken for sending.
#[derive(Clone, Debug)]
pub struct Waiting {
    pub id: Id,
    pub chat_id: i64,
    pub lane: Lane,
    /// What to send, as JSON of the sender's own form.
    pub body: String,
    pub made_at: UtcSeconds,
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

impl Urgency {
    fn number(self) -> i64 {
        match self {
            Urgency::Answer => 0,
            Urgency::Notice => 1,
            Urgency::Stranger if planted::is_on(Bug::StrangersFirst) => -1,
            Urgency::Stranger => 2,
        }
    }
}

/// What a message of a chat waits behind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lane {
    /// The chat's earlier messages.
    #[default]
    Chat,
    /// The chat's earlier menus.
    Menu,
    /// Nothing: the answer to a press.
    Press,
}

impl Lane {
    fn number(self) -> i64 {
        match self {
            Lane::Chat => 0,
            Lane::Menu => 1,
            Lane::Press => 2,
        }
    }

    fn of(number: i64) -> Lane {
        match number {
            1 => Lane::Menu,
            2 => Lane::Press,
            _ => Lane::Chat,
        }
    }
}

/// A message to be sent.
#[derive(Clone, Copy, Debug)]
pub struct New<'a> {
    pub chat_id: i64,
    pub urgency: Urgency,
    pub lane: Lane,
    pub body: &'a str,
    /// The card it will be, or changes.
    pub card: Option<&'a str>,
    /// From then on it is not worth sending.
    pub useful_until: Option<UtcSeconds>,
    /// Not before then.
    pub not_before: UtcSeconds,
}

/// Writes a message to be sent to `chat_id` as soon as may be.
pub async fn put(tx: &mut Tx, chat_id: i64, urgency: Urgency, body: &str, now: UtcSeconds) -> Result<Id> {
    let new = New { chat_id, urgency, lane: Lane::Chat, body, card: None, useful_until: None, not_before: now };
    put_new(tx, new, now).await
}

/// Writes a message to be sent.
pub async fn put_new(tx: &mut Tx, new: New<'_>, now: UtcSeconds) -> Result<Id> {
    let id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO outbox (id, chat_id, urgency, lane, body, card, made_at, not_before, useful_until, tries, cause)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 0, $10)",
    );
    let cause = tx.cause.clone();
    let query = query.bind(id.get()).bind(new.chat_id).bind(new.urgency.number()).bind(new.lane.number());
    let query = query.bind(new.body.to_owned()).bind(new.card.map(str::to_owned)).bind(now.get());
    let query = query.bind(new.not_before.get()).bind(new.useful_until.map(UtcSeconds::get)).bind(cause);
    tx.execute(query).await?;
    Ok(id)
}

/// A message that was taken back before it went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakenBack {
    pub id: Id,
    pub body: String,
    pub is_answer: bool,
    /// Its chat must not be called before then.
    pub not_before: UtcSeconds,
}

/// Takes back what waits to become or to change this card, oldest first; what is on its way stays.
pub async fn take_back(tx: &mut Tx, chat_id: i64, card: &str) -> Result<Vec<TakenBack>> {
    let query = sqlx::query(
        "DELETE FROM outbox WHERE chat_id = $1 AND card = $2
           AND sent_at IS NULL AND failed_at IS NULL AND leased_until IS NULL
         RETURNING id, body, urgency, not_before",
    );
    let rows = tx.all(query.bind(chat_id).bind(card.to_owned())).await?;
    let of = |row: &AnyRow| {
        Ok(TakenBack {
            id: row.id("id")?,
            body: row.text("body")?,
            is_answer: row.integer("urgency")? == 0,
            not_before: row.instant("not_before")?,
        })
    };
    let mut taken = rows.iter().map(of).collect::<Result<Vec<_>>>()?;
    taken.sort_by_key(|one| one.id);
    Ok(taken)
}

/// Takes back the menus that wait for a chat: the next one says it all.
pub async fn take_back_menus(tx: &mut Tx, chat_id: i64) -> Result<()> {
    let query = sqlx::query(
        "DELETE FROM outbox WHERE chat_id = $1 AND lane = 1
           AND sent_at IS NULL AND failed_at IS NULL AND leased_until IS NULL",
    );
    tx.execute(query.bind(chat_id)).await?;
    Ok(())
}

/// A message that may go now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ready {
    pub id: Id,
    pub chat_id: i64,
    pub lane: Lane,
    pub is_answer: bool,
}

// A chat's oldest message; of what waits for nothing, every one.
const READY: &str = "SELECT first.id, first.chat_id, first.lane, first.urgency FROM outbox AS first
     WHERE first.sent_at IS NULL AND first.failed_at IS NULL
       AND first.not_before <= $1
       AND (first.leased_until IS NULL OR first.leased_until <= $1)
       AND (first.lane = 2 OR NOT EXISTS (
           SELECT 1 FROM outbox AS earlier
           WHERE earlier.chat_id = first.chat_id AND earlier.lane = first.lane AND earlier.id < first.id
             AND earlier.sent_at IS NULL AND earlier.failed_at IS NULL))
     ORDER BY first.urgency, first.id LIMIT $2";
// Planted: any of the chat's messages will do.
const READY_IN_ANY_ORDER: &str = "SELECT id, chat_id, lane, urgency FROM outbox
     WHERE sent_at IS NULL AND failed_at IS NULL AND not_before <= $1
       AND (leased_until IS NULL OR leased_until <= $1)
     ORDER BY urgency, id LIMIT $2";

/// Up to `most` messages that may go now: of each chat the oldest, so that a chat reads its messages in the order they were
/// written. Answers come before notices. Nothing is changed: [`begin`] takes one.
pub async fn ready(tx: &mut Tx, now: UtcSeconds, most: i64) -> Result<Vec<Ready>> {
    let text = if planted::is_on(Bug::OvertakeInChat) { READY_IN_ANY_ORDER } else { READY };
    let rows = tx.all(sqlx::query(text).bind(now.get()).bind(most)).await?;
    let of = |row: &AnyRow| {
        Ok(Ready {
            id: row.id("id")?,
            chat_id: row.integer("chat_id")?,
            lane: Lane::of(row.integer("lane")?),
            is_answer: row.integer("urgency")? == 0,
        })
    };
    rows.iter().map(of).collect()
}

/// What came of taking a message for sending.
#[derive(Clone, Debug)]
pub enum Begun {
    Taken(Waiting),
    /// It was of use no more, and is set aside.
    TooLate,
    /// It was taken back, or somebody else has it.
    Gone,
}

/// Takes a message for sending until `leased_until`.
pub async fn begin(tx: &mut Tx, id: Id, (now, leased_until): (UtcSeconds, UtcSeconds)) -> Result<Begun> {
    let query = sqlx::query(
        "UPDATE outbox SET leased_until = $2, tries = tries + 1
         WHERE id = $1 AND sent_at IS NULL AND failed_at IS NULL AND (leased_until IS NULL OR leased_until <= $3)
         RETURNING id, chat_id, urgency, lane, body, made_at, useful_until, tries, cause",
    );
    let row = tx.optional(query.bind(id.get()).bind(leased_until.get()).bind(now.get())).await?;
    let Some(row) = row else { return Ok(Begun::Gone) };
    let lane = Lane::of(row.integer("lane")?);
    if row.instant_opt("useful_until")?.is_some_and(|until| until <= now) {
        leave_out(tx, (id, lane), now).await?;
        return Ok(Begun::TooLate);
    }
    Ok(Begun::Taken(Waiting {
        id,
        chat_id: row.integer("chat_id")?,
        lane,
        body: row.text("body")?,
        made_at: row.instant("made_at")?,
        tries: row.integer("tries")? - 1,
        is_answer: row.integer("urgency")? == 0,
        cause: row.text_opt("cause")?,
    }))
}

/// Of an answer to a press nothing is kept: there is nothing to read in it.
async fn leave_out(tx: &mut Tx, (id, lane): (Id, Lane), now: UtcSeconds) -> Result<()> {
    if lane == Lane::Press {
        tx.execute(sqlx::query("DELETE FROM outbox WHERE id = $1").bind(id.get())).await?;
        return Ok(());
    }
    set_aside(tx, id, TOO_LATE, now).await
}

/// Marks a message as sent.
pub async fn mark_sent(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE outbox SET sent_at = $2, leased_until = NULL WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(now.get())).await?;
    Ok(())
}

/// Why a message could not go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PutBack {
    /// The service did not answer, or had trouble of its own.
    Line,
    /// The service asked to wait.
    Wish,
}

/// Gives a message back, not to be tried before `not_before`.
pub async fn put_back(tx: &mut Tx, id: Id, why: PutBack, not_before: UtcSeconds) -> Result<()> {
    let why = match why {
        PutBack::Line => "line",
        PutBack::Wish => "wish",
    };
    let query = sqlx::query("UPDATE outbox SET not_before = $2, put_back_for = $3, leased_until = NULL WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(not_before.get()).bind(why)).await?;
    Ok(())
}

/// The service answers again: what was put back because it did not goes now.
pub async fn hurry(tx: &mut Tx, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "UPDATE outbox SET not_before = $1 WHERE sent_at IS NULL AND failed_at IS NULL
           AND put_back_for = 'line' AND not_before > $1",
    );
    tx.execute(query.bind(now.get())).await?;
    Ok(())
}

/// When anything was last sent.
pub async fn last_sent_at(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    tx.one(sqlx::query("SELECT MAX(sent_at) AS at FROM outbox")).await?.instant_opt("at")
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

/// Releases one message's lease, if it has one.
pub async fn release_lease(tx: &mut Tx, id: Id) -> Result<()> {
    let query = sqlx::query("UPDATE outbox SET leased_until = NULL WHERE id = $1 AND leased_until IS NOT NULL");
    tx.execute(query.bind(id.get())).await?;
    Ok(())
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

/// Messages set aside, newest first: chat, reason, when.
pub async fn set_aside_list(tx: &mut Tx, most: i64) -> Result<Vec<(i64, String, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT chat_id, reason, failed_at FROM outbox WHERE failed_at IS NOT NULL ORDER BY failed_at DESC, id DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(most)).await?;
    rows.iter().map(|row| Ok((row.integer("chat_id")?, row.text("reason")?, row.instant("failed_at")?))).collect()
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
