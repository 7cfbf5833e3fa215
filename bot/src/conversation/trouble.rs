//! What the keepers are told when a message could not be brought to somebody.

use super::desk::Audience;
use super::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, key};
use scheduler::clock::UtcSeconds;
use scheduler::people::Role;
use scheduler::store::{self, Tx, people};

/// How the card of a notice of trouble begins.
pub const CARD: &str = "trouble:";

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
    let everybody = people::everybody(&mut desk.tx).await?;
    let person = everybody.iter().find(|person| person.chat_id == chat_id);
    let name = person.map_or_else(|| chat_id.to_string(), |person| person.name.clone());
    // Nobody is told in the chat that has the trouble; where that is the only keeper's, the rest of the family is.
    let others = |role: fn(Role) -> bool| {
        everybody.iter().filter(move |other| role(other.role) && other.chat_id != chat_id).collect::<Vec<_>>()
    };
    let keepers = others(|role| role == Role::Keeper);
    for told in if keepers.is_empty() { others(Role::is_family) } else { keepers } {
        let text = desk.voice(told).say(text_key, &Args::new().text("name", name.clone()));
        desk.tell(told, Letter::new(text).on_card(format!("{CARD}{chat_id}")).at_end()).await?;
    }
    Ok(desk.tx)
}
