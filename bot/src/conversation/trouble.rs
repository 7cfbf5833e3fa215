//! What the keepers are told when a message could not be brought to somebody.

use super::desk::Audience;
use super::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, key};
use scheduler::clock::UtcSeconds;
use scheduler::store::{self, Tx, people};

/// Tells the keepers that somebody cannot be reached any more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn unreachable(house: &House, tx: Tx, (chat_id, now): (i64, UtcSeconds)) -> store::Result<Tx> {
    tell_keepers(house, tx, (chat_id, now), key("trouble-unreachable")).await
}

/// Tells the keepers that one message could not be sent.
///
/// # Errors
/// Whatever the store fails with.
pub async fn refused(house: &House, tx: Tx, (chat_id, now): (i64, UtcSeconds)) -> store::Result<Tx> {
    tell_keepers(house, tx, (chat_id, now), key("trouble-refused")).await
}

/// Tells the keepers that a scheduled backup was not written.
///
/// # Errors
/// Whatever the store fails with.
pub async fn no_backup(house: &House, tx: Tx, now: UtcSeconds) -> store::Result<Tx> {
    let mut desk = Desk::new(tx, now, house, None);
    desk.tell_family(Audience::Keepers, |voice| Letter::new(voice.say("trouble-backup", &Args::new()))).await?;
    Ok(desk.tx)
}

async fn tell_keepers(
    house: &House,
    tx: Tx,
    (chat_id, now): (i64, UtcSeconds),
    text_key: &'static str,
) -> store::Result<Tx> {
    let mut desk = Desk::new(tx, now, house, None);
    let person = people::by_chat(&mut desk.tx, chat_id).await?;
    // A keeper who cannot be reached is not told so: that message would fail as well.
    if person.as_ref().is_some_and(|person| person.role == scheduler::people::Role::Keeper) {
        return Ok(desk.tx);
    }
    let name = person.map_or_else(|| chat_id.to_string(), |person| person.name);
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say(text_key, &Args::new().text("name", name.clone())))
    })
    .await?;
    Ok(desk.tx)
}
