//! People, restaurants and the family's group chat.

pub mod invitations;

use super::row::{Columns, word};
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::people::quiet::QuietHours;
use crate::people::{Buyer, Person, Role, WhenSilent};
use sqlx::any::AnyRow;
use std::collections::BTreeSet;

const PERSON: &str = "id, chat_id, name, role, language, units, hour_clock, quiet_from, quiet_to, buyer_id, partner_id";

fn person(row: &AnyRow) -> Result<Person> {
    Ok(Person {
        id: row.id("id")?,
        chat_id: row.integer("chat_id")?,
        name: row.text("name")?,
        role: row.word("role")?,
        language: row.text("language")?,
        units: row.word("units")?,
        hour_clock: row.word("hour_clock")?,
        quiet: quiet(row)?,
        buyer_id: row.id_opt("buyer_id")?,
        partner_id: row.id_opt("partner_id")?,
    })
}

fn quiet(row: &AnyRow) -> Result<Option<QuietHours>> {
    let minute = |column| row.integer_opt(column).map(|minute| minute.and_then(|minute| u32::try_from(minute).ok()));
    let (from, to) = (minute("quiet_from")?, minute("quiet_to")?);
    Ok(from.zip(to).and_then(|(from, to)| QuietHours::between(from, to)))
}

/// Present people for whom `condition` holds; its one parameter is `$1`.
async fn people_where(tx: &mut Tx, condition: &'static str, value: i64) -> Result<Vec<Person>> {
    let text = format!("SELECT {PERSON} FROM person WHERE left_at IS NULL AND {condition} ORDER BY id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(value)).await?;
    rows.iter().map(person).collect()
}

/// Whoever writes from this private chat, if they have joined and not left.
pub async fn by_chat(tx: &mut Tx, chat_id: i64) -> Result<Option<Person>> {
    Ok(people_where(tx, "chat_id = $1", chat_id).await?.pop())
}

/// The person with this identifier, if present.
pub async fn by_id(tx: &mut Tx, id: Id) -> Result<Option<Person>> {
    Ok(people_where(tx, "id = $1", id.get()).await?.pop())
}

/// Everybody present, in the order they joined.
pub async fn everybody(tx: &mut Tx) -> Result<Vec<Person>> {
    people_where(tx, "id > $1", -1).await
}

/// Present people of a role.
pub async fn with_role(tx: &mut Tx, role: Role) -> Result<Vec<Person>> {
    Ok(everybody(tx).await?.into_iter().filter(|person| person.role == role).collect())
}

/// A restaurant's contacts.
pub async fn contacts_of_buyer(tx: &mut Tx, buyer_id: Id) -> Result<Vec<Person>> {
    people_where(tx, "buyer_id = $1", buyer_id.get()).await
}

/// A food bank's contacts.
pub async fn contacts_of_partner(tx: &mut Tx, partner_id: Id) -> Result<Vec<Person>> {
    people_where(tx, "partner_id = $1", partner_id.get()).await
}

/// Lets a person in, or back in: who left before keeps their identifier and gets the new place.
pub async fn join(tx: &mut Tx, person: &Person, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO person (id, chat_id, name, role, language, units, hour_clock, buyer_id, partner_id, joined_at,
             quiet_from, quiet_to)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)
         ON CONFLICT (chat_id) DO UPDATE SET name = excluded.name, role = excluded.role, language = excluded.language,
         units = excluded.units, hour_clock = excluded.hour_clock, buyer_id = excluded.buyer_id,
         partner_id = excluded.partner_id, joined_at = excluded.joined_at, quiet_from = excluded.quiet_from,
         quiet_to = excluded.quiet_to, left_at = NULL, unreachable_at = NULL",
    );
    let query = query.bind(person.id.get()).bind(person.chat_id).bind(person.name.clone()).bind(word(person.role));
    let query = query.bind(person.language.clone()).bind(word(person.units)).bind(word(person.hour_clock));
    let query = query.bind(person.buyer_id.map(Id::get)).bind(person.partner_id.map(Id::get)).bind(now.get());
    let quiet = person.quiet.map(QuietHours::minutes);
    let query = query.bind(quiet.map(|(from, _)| i64::from(from))).bind(quiet.map(|(_, to)| i64::from(to)));
    tx.execute(query).await?;
    Ok(())
}

/// Stores when a person is left alone.
pub async fn set_quiet(tx: &mut Tx, person_id: Id, quiet: Option<QuietHours>) -> Result<()> {
    let quiet = quiet.map(QuietHours::minutes);
    let query = sqlx::query("UPDATE person SET quiet_from = $2, quiet_to = $3 WHERE id = $1").bind(person_id.get());
    let query = query.bind(quiet.map(|(from, _)| i64::from(from))).bind(quiet.map(|(_, to)| i64::from(to)));
    tx.execute(query).await?;
    Ok(())
}

/// Stores what a person reads in.
pub async fn set_reading(tx: &mut Tx, person: &Person) -> Result<()> {
    let query = sqlx::query("UPDATE person SET language = $2, units = $3, hour_clock = $4 WHERE id = $1");
    let query = query.bind(person.id.get()).bind(person.language.clone());
    tx.execute(query.bind(word(person.units)).bind(word(person.hour_clock))).await?;
    Ok(())
}

/// Takes a person's place away, and with it the invitations they made; what they did stays on record.
pub async fn leave(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<bool> {
    invitations::withdraw_made_by(tx, id, now).await?;
    let query = sqlx::query("UPDATE person SET left_at = $2 WHERE id = $1 AND left_at IS NULL");
    Ok(tx.execute(query.bind(id.get()).bind(now.get())).await? == 1)
}

/// Marks a chat as unreachable (blocked or gone); `true` when that is news.
pub async fn mark_unreachable(tx: &mut Tx, chat_id: i64, now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query("UPDATE person SET unreachable_at = $2 WHERE chat_id = $1 AND unreachable_at IS NULL");
    Ok(tx.execute(query.bind(chat_id).bind(now.get())).await? == 1)
}

/// Present people who cannot be reached: chat, name, since when.
pub async fn unreachable(tx: &mut Tx) -> Result<Vec<(i64, String, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT chat_id, name, unreachable_at FROM person WHERE left_at IS NULL AND unreachable_at IS NOT NULL ORDER BY id",
    );
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.integer("chat_id")?, row.text("name")?, row.instant("unreachable_at")?))).collect()
}

/// Whoever writes can be reached again.
pub async fn mark_reachable(tx: &mut Tx, chat_id: i64) -> Result<()> {
    let query =
        sqlx::query("UPDATE person SET unreachable_at = NULL WHERE chat_id = $1 AND unreachable_at IS NOT NULL");
    tx.execute(query.bind(chat_id)).await?;
    Ok(())
}

fn buyer(row: &AnyRow) -> Result<Buyer> {
    Ok(Buyer {
        id: row.id("id")?,
        name: row.text("name")?,
        when_silent: row.word("when_silent")?,
        weight: row.integer("weight")?,
    })
}

/// All restaurants that buy, in the order they joined.
pub async fn buyers(tx: &mut Tx) -> Result<Vec<Buyer>> {
    let query = sqlx::query("SELECT id, name, when_silent, weight FROM buyer WHERE left_at IS NULL ORDER BY id");
    tx.all(query).await?.iter().map(buyer).collect()
}

/// The restaurant with this identifier, also after it has left.
pub async fn buyer_by_id(tx: &mut Tx, id: Id) -> Result<Option<Buyer>> {
    let query = sqlx::query("SELECT id, name, when_silent, weight FROM buyer WHERE id = $1");
    tx.optional(query.bind(id.get())).await?.as_ref().map(buyer).transpose()
}

/// Adds a restaurant; a duplicate name is an error for which [`super::Error::is_duplicate`] holds.
pub async fn add_buyer(tx: &mut Tx, name: &str, now: UtcSeconds) -> Result<Id> {
    let id = tx.new_id(now);
    let query = sqlx::query("INSERT INTO buyer (id, name, when_silent, weight, joined_at) VALUES ($1, $2, $3, 1, $4)");
    tx.execute(query.bind(id.get()).bind(name.to_owned()).bind(word(WhenSilent::Take)).bind(now.get())).await?;
    Ok(id)
}

/// Chooses what a restaurant's short line does when nobody answers.
pub async fn set_when_silent(tx: &mut Tx, buyer_id: Id, when_silent: WhenSilent) -> Result<()> {
    let query = sqlx::query("UPDATE buyer SET when_silent = $2 WHERE id = $1");
    tx.execute(query.bind(buyer_id.get()).bind(word(when_silent))).await?;
    Ok(())
}

/// The family's group chats that are written to, with their languages.
pub async fn family_groups(tx: &mut Tx) -> Result<Vec<(i64, String)>> {
    let query = "SELECT chat_id, language FROM family_group WHERE paused_at IS NULL ORDER BY joined_at, chat_id";
    let rows = tx.all(sqlx::query(query)).await?;
    rows.iter().map(|row| Ok((row.integer("chat_id")?, row.text("language")?))).collect()
}

/// Makes a group chat the family's, or writes to it again.
pub async fn add_family_group(
    tx: &mut Tx,
    chat_id: i64,
    language: &str,
    (named_by, now): (Option<Id>, UtcSeconds),
) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO family_group (chat_id, language, joined_at, named_by) VALUES ($1, $2, $3, $4)
         ON CONFLICT (chat_id) DO UPDATE SET language = excluded.language, named_by = excluded.named_by, paused_at = NULL",
    );
    let query = query.bind(chat_id).bind(language.to_owned()).bind(now.get()).bind(named_by.map(Id::get));
    tx.execute(query).await?;
    Ok(())
}

/// Who named a group that is written to; the outer `None` where it is not.
pub async fn family_group_named_by(tx: &mut Tx, chat_id: i64) -> Result<Option<Option<Id>>> {
    let query = sqlx::query("SELECT named_by FROM family_group WHERE chat_id = $1 AND paused_at IS NULL");
    tx.optional(query.bind(chat_id)).await?.map(|row| row.id_opt("named_by")).transpose()
}

/// Writes nothing to a group until it is added again; `true` when it was written to before.
pub async fn pause_family_group(tx: &mut Tx, chat_id: i64, now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query("UPDATE family_group SET paused_at = $2 WHERE chat_id = $1 AND paused_at IS NULL");
    Ok(tx.execute(query.bind(chat_id).bind(now.get())).await? == 1)
}

/// The language of a group that is paused.
pub async fn paused_family_group(tx: &mut Tx, chat_id: i64) -> Result<Option<String>> {
    let query = sqlx::query("SELECT language FROM family_group WHERE chat_id = $1 AND paused_at IS NOT NULL");
    tx.optional(query.bind(chat_id)).await?.map(|row| row.text("language")).transpose()
}

/// The name under which an account is or was on the list.
pub async fn name_of_account(tx: &mut Tx, chat_id: i64) -> Result<Option<String>> {
    let query = sqlx::query("SELECT name FROM person WHERE chat_id = $1");
    tx.optional(query.bind(chat_id)).await?.map(|row| row.text("name")).transpose()
}

/// Forgets a group chat.
pub async fn remove_family_group(tx: &mut Tx, chat_id: i64) -> Result<bool> {
    Ok(tx.execute(sqlx::query("DELETE FROM family_group WHERE chat_id = $1").bind(chat_id)).await? == 1)
}

/// A group chat has become a supergroup with another number.
pub async fn move_family_group(tx: &mut Tx, from_chat: i64, to_chat: i64) -> Result<()> {
    // Somebody may have made the new one the family's already.
    let query = sqlx::query(
        "UPDATE family_group SET chat_id = $2
         WHERE chat_id = $1 AND NOT EXISTS (SELECT 1 FROM family_group AS there WHERE there.chat_id = $2)",
    );
    tx.execute(query.bind(from_chat).bind(to_chat)).await?;
    remove_family_group(tx, from_chat).await?;
    Ok(())
}

/// Counts a message of an account; how many there were since `since`, or within the span that
/// began with the first of them.
pub async fn count_knock(tx: &mut Tx, chat_id: i64, (now, since): (UtcSeconds, UtcSeconds)) -> Result<i64> {
    let query = sqlx::query(
        "INSERT INTO knock (chat_id, first_at, times) VALUES ($1, $2, 1)
         ON CONFLICT (chat_id) DO UPDATE SET
             times = CASE WHEN knock.first_at <= $3 THEN 1 ELSE knock.times + 1 END,
             first_at = CASE WHEN knock.first_at <= $3 THEN $2 ELSE knock.first_at END
         RETURNING times",
    );
    tx.one(query.bind(chat_id).bind(now.get()).bind(since.get())).await?.integer("times")
}

/// The chats of everybody who has joined, and the family's groups.
pub async fn chats(tx: &mut Tx) -> Result<BTreeSet<i64>> {
    let query = sqlx::query("SELECT chat_id FROM person WHERE left_at IS NULL UNION SELECT chat_id FROM family_group");
    tx.all(query).await?.iter().map(|row| row.integer("chat_id")).collect()
}

/// Gives a person's place to another account, which must not be anybody's at present. Whoever had that account before
/// and left keeps their record under a number that no chat has.
pub async fn change_account(tx: &mut Tx, person_id: Id, chat_id: i64) -> Result<()> {
    let query = sqlx::query("UPDATE person SET chat_id = -id WHERE chat_id = $1 AND left_at IS NOT NULL");
    tx.execute(query.bind(chat_id)).await?;
    let query = sqlx::query("UPDATE person SET chat_id = $2, unreachable_at = NULL WHERE id = $1");
    tx.execute(query.bind(person_id.get()).bind(chat_id)).await?;
    Ok(())
}
