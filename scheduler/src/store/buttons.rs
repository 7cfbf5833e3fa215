//! Buttons and the cards they sit on, and the one question a chat may answer by typing.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;

/// A button as pressed.
#[derive(Clone, Debug)]
pub struct Button {
    pub card: String,
    /// The intent, as JSON.
    pub intent: String,
    /// The card has moved on: the press means nothing any more, unless [`may_still_show`].
    pub is_void: bool,
}

/// How long after its card has moved on a button may still be pressed by somebody whose screen does not show it yet, or whose
/// press was on its way. Common practice, no source.
const ON_ITS_WAY_SECONDS: i64 = 10;

/// Stores a button of `card` in `chat_id`; its token is what the service carries.
pub async fn put(tx: &mut Tx, chat_id: i64, card: &str, intent: &str, now: UtcSeconds) -> Result<String> {
    let token = base36(tx.new_id(now).get());
    let query = sqlx::query("INSERT INTO button (token, chat_id, card, intent, made_at) VALUES ($1, $2, $3, $4, $5)");
    let query = query.bind(token.clone()).bind(chat_id).bind(card.to_owned()).bind(intent.to_owned());
    tx.execute(query.bind(now.get())).await?;
    Ok(token)
}

/// The button with this token in this chat: the same token from another chat means nothing.
pub async fn find(tx: &mut Tx, chat_id: i64, token: &str) -> Result<Option<Button>> {
    let query = sqlx::query("SELECT card, intent, void_at FROM button WHERE token = $1 AND chat_id = $2");
    let row = tx.optional(query.bind(token.to_owned()).bind(chat_id)).await?;
    row.map(|row| {
        Ok(Button {
            card: row.text("card")?,
            intent: row.text("intent")?,
            is_void: row.instant_opt("void_at")?.is_some(),
        })
    })
    .transpose()
}

/// Whether whoever pressed this void button may have seen it: the card's next version has not been delivered, or only just.
pub async fn may_still_show(tx: &mut Tx, (chat_id, token): (i64, &str), now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query(
        "SELECT button.void_at, card.shown_from FROM button
         LEFT JOIN card ON card.chat_id = button.chat_id AND card.name = button.card
         WHERE button.token = $1 AND button.chat_id = $2",
    );
    let Some(row) = tx.optional(query.bind(token.to_owned()).bind(chat_id)).await? else { return Ok(false) };
    let Some(void_at) = row.instant_opt("void_at")? else { return Ok(true) };
    let is_just_void = now.since(void_at) <= ON_ITS_WAY_SECONDS;
    let shown_from = row.id_opt("shown_from")?;
    Ok(is_just_void || number_of(token).zip(shown_from).is_some_and(|(number, first)| number >= first))
}

/// The number in a token; later buttons have greater ones.
pub fn number_of(token: &str) -> Option<Id> {
    i64::from_str_radix(token, 36).ok().map(Id::new)
}

/// What the working buttons of a card mean.
pub async fn live_on(tx: &mut Tx, chat_id: i64, card: &str) -> Result<Vec<String>> {
    let query =
        sqlx::query("SELECT intent FROM button WHERE chat_id = $1 AND card = $2 AND void_at IS NULL ORDER BY token");
    let rows = tx.all(query.bind(chat_id).bind(card.to_owned())).await?;
    rows.iter().map(|row| row.text("intent")).collect()
}

/// Makes every button of a card void.
pub async fn void_card(tx: &mut Tx, chat_id: i64, card: &str, now: UtcSeconds) -> Result<u64> {
    let query = sqlx::query("UPDATE button SET void_at = $3 WHERE chat_id = $1 AND card = $2 AND void_at IS NULL");
    tx.execute(query.bind(chat_id).bind(card.to_owned()).bind(now.get())).await
}

/// Forgets every button of a chat, also those that a late press could still mean: whoever is there had them in another place.
pub async fn forget_all(tx: &mut Tx, chat_id: i64) -> Result<u64> {
    tx.execute(sqlx::query("DELETE FROM button WHERE chat_id = $1").bind(chat_id)).await
}

/// Whether a card has a button that works.
pub async fn is_live(tx: &mut Tx, chat_id: i64, card: &str) -> Result<bool> {
    let query = sqlx::query("SELECT token FROM button WHERE chat_id = $1 AND card = $2 AND void_at IS NULL LIMIT 1");
    Ok(tx.optional(query.bind(chat_id).bind(card.to_owned())).await?.is_some())
}

/// The working buttons of a chat with their cards, the newest first; what is held and not yet sent is left out.
pub async fn live_in(tx: &mut Tx, chat_id: i64) -> Result<Vec<(String, String)>> {
    let query = sqlx::query(
        "SELECT card, intent FROM button WHERE chat_id = $1 AND void_at IS NULL
           AND card NOT IN (SELECT card FROM held WHERE chat_id = $1 AND card IS NOT NULL)
         ORDER BY made_at DESC, token DESC",
    );
    let rows = tx.all(query.bind(chat_id)).await?;
    rows.iter().map(|row| Ok((row.text("card")?, row.text("intent")?))).collect()
}

/// Chats in which `card` still has a button that works.
pub async fn chats_with_live_card(tx: &mut Tx, card: &str) -> Result<Vec<i64>> {
    let query = sqlx::query("SELECT DISTINCT chat_id FROM button WHERE card = $1 AND void_at IS NULL ORDER BY chat_id");
    let rows = tx.all(query.bind(card.to_owned())).await?;
    rows.iter().map(|row| row.integer("chat_id")).collect()
}

/// The message that a card is at present.
pub async fn message_of(tx: &mut Tx, chat_id: i64, card: &str) -> Result<Option<i64>> {
    let query = sqlx::query("SELECT message_id FROM card WHERE chat_id = $1 AND name = $2");
    let row = tx.optional(query.bind(chat_id).bind(card.to_owned())).await?;
    row.map(|row| row.integer("message_id")).transpose()
}

/// Remembers the message that a card of a chat has become.
pub async fn set_message(tx: &mut Tx, (chat_id, card): (i64, &str), message_id: i64, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO card (chat_id, name, message_id, changed_at) VALUES ($1, $2, $3, $4)
         ON CONFLICT (chat_id, name) DO UPDATE SET message_id = excluded.message_id, changed_at = excluded.changed_at",
    );
    tx.execute(query.bind(chat_id).bind(card.to_owned()).bind(message_id).bind(now.get())).await?;
    Ok(())
}

/// Remembers that the chat shows the version of the card whose buttons begin with this number.
pub async fn set_shown(tx: &mut Tx, (chat_id, card): (i64, &str), shown_from: Id) -> Result<()> {
    let query = sqlx::query("UPDATE card SET shown_from = $3 WHERE chat_id = $1 AND name = $2");
    tx.execute(query.bind(chat_id).bind(card.to_owned()).bind(shown_from.get())).await?;
    Ok(())
}

/// A chat has another number: its buttons work on there. Its messages stay behind, and so do the cards they were and the
/// question that was open.
pub async fn move_chat(tx: &mut Tx, from_chat: i64, to_chat: i64) -> Result<()> {
    let query = sqlx::query("UPDATE button SET chat_id = $2 WHERE chat_id = $1");
    tx.execute(query.bind(from_chat).bind(to_chat)).await?;
    tx.execute(sqlx::query("DELETE FROM card WHERE chat_id = $1").bind(from_chat)).await?;
    close_question(tx, from_chat).await
}

/// Asks the chat's one open question; an older one is forgotten.
pub async fn ask(tx: &mut Tx, chat_id: i64, waiting: &str, (now, expires_at): (UtcSeconds, UtcSeconds)) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO question (chat_id, waiting, asked_at, expires_at) VALUES ($1, $2, $3, $4)
         ON CONFLICT (chat_id) DO UPDATE SET waiting = excluded.waiting, asked_at = excluded.asked_at,
         expires_at = excluded.expires_at",
    );
    tx.execute(query.bind(chat_id).bind(waiting.to_owned()).bind(now.get()).bind(expires_at.get())).await?;
    Ok(())
}

/// The chat's open question, if it has not expired.
pub async fn open_question(tx: &mut Tx, chat_id: i64, now: UtcSeconds) -> Result<Option<String>> {
    let query = sqlx::query("SELECT waiting FROM question WHERE chat_id = $1 AND expires_at > $2");
    let row = tx.optional(query.bind(chat_id).bind(now.get())).await?;
    row.map(|row| row.text("waiting")).transpose()
}

/// Forgets the chat's open question.
pub async fn close_question(tx: &mut Tx, chat_id: i64) -> Result<()> {
    tx.execute(sqlx::query("DELETE FROM question WHERE chat_id = $1").bind(chat_id)).await?;
    Ok(())
}

/// A non-negative number in base 36: at most 13 characters for any identifier.
fn base36(mut number: i64) -> String {
    let mut digits = Vec::new();
    loop {
        let digit = u32::try_from(number % 36).expect("identifiers are not negative");
        digits.push(char::from_digit(digit, 36).expect("a remainder of 36 is a digit"));
        number /= 36;
        if number == 0 {
            return digits.iter().rev().collect();
        }
    }
}
