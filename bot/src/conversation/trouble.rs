//! What the keepers are told when a message could not be brought to somebody.

use super::audience::Audience;
use super::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, key};
use scheduler::clock::UtcSeconds;
use scheduler::people::Role;
use scheduler::store::{self, Tx, buttons, outbox, people, settings};

/// How the card of a notice of trouble begins.
pub const CARD: &str = "trouble:";

/// Nobody reads this chat any more: notes it, and tells the keepers when that is news.
///
/// # Errors
/// Whatever the store fails with.
pub async fn unreachable(desk: &mut Desk<'_>, chat_id: i64) -> store::Result<()> {
    let now = desk.now;
    let is_news = people::mark_unreachable(&mut desk.tx, chat_id, now).await?
        | people::remove_family_group(&mut desk.tx, chat_id).await?;
    if is_news { tell_keepers(desk, chat_id, key("trouble-unreachable")).await } else { Ok(()) }
}

/// Tells the keepers that one message could not be sent.
///
/// # Errors
/// Whatever the store fails with.
pub async fn refused(desk: &mut Desk<'_>, chat_id: i64) -> store::Result<()> {
    tell_keepers(desk, chat_id, key("trouble-refused")).await
}

/// A group has become a supergroup with another number: everything that is kept of it goes with it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn moved(tx: &mut Tx, from_chat: i64, to_chat: i64) -> store::Result<()> {
    people::move_family_group(tx, from_chat, to_chat).await?;
    buttons::move_chat(tx, from_chat, to_chat).await?;
    outbox::redirect(tx, from_chat, to_chat).await
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

/// The last day on which the keepers were told that the machine's clock is off.
const CLOCK_TOLD_ON: &str = "clock_told_on";

/// Tells the keepers that the machine's clock is ahead of the messaging service's time by so many seconds; once a day, however
/// often the program is started again.
///
/// # Errors
/// Whatever the store fails with.
pub async fn clock_off(house: &House, tx: Tx, (now, seconds): (UtcSeconds, i64)) -> store::Result<Tx> {
    let mut desk = Desk::new(tx, now, house, None);
    let today = desk.today().to_string();
    if settings::get(&mut desk.tx, CLOCK_TOLD_ON).await?.as_ref() == Some(&today) {
        return Ok(desk.tx);
    }
    settings::put(&mut desk.tx, CLOCK_TOLD_ON, &today).await?;
    let text_key = if seconds > 0 { key("trouble-clock-ahead") } else { key("trouble-clock-behind") };
    let minutes = (seconds.abs() + 30) / 60;
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say(text_key, &Args::new().count("minutes", minutes)))
    })
    .await?;
    Ok(desk.tx)
}

/// Tells the keepers that somebody else has taken the bot's webhook away.
///
/// # Errors
/// Whatever the store fails with.
pub async fn webhook_taken(house: &House, tx: Tx, now: UtcSeconds) -> store::Result<Tx> {
    let mut desk = Desk::new(tx, now, house, None);
    desk.tell_family(Audience::Keepers, |voice| Letter::new(voice.say("trouble-webhook", &Args::new()))).await?;
    Ok(desk.tx)
}

async fn tell_keepers(desk: &mut Desk<'_>, chat_id: i64, text_key: &'static str) -> store::Result<()> {
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
    Ok(())
}
