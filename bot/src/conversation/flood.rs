//! How much of one account is looked at, so that nobody keeps everybody else waiting: of a stranger little, of whoever has
//! joined more than anybody types. Rule: whose message is not looked at is told so, once, and nothing is half done.

use super::{Desk, Letter};
use crate::incoming::Account;
use crate::wording::Args;
use scheduler::people::Person;
use scheduler::store::{self, people};

/// Messages of a stranger that are looked at within an hour; the next one is told so, those after it get no answer.
const STRANGER_MOST: i64 = 10;

/// Counts what a stranger writes or presses; whether it is still looked at.
///
/// # Errors
/// Whatever the store fails with.
pub async fn may_knock(desk: &mut Desk<'_>, account: &Account) -> store::Result<bool> {
    let span = (desk.now, desk.now.plus_minutes(-60));
    let knocks = people::count_knock(&mut desk.tx, account.chat_id, span).await?;
    if knocks == STRANGER_MOST + 1 {
        let letter = Letter::new(desk.voice_of_account(account).say("stranger-too-often", &Args::new()));
        desk.answer_account(account, letter).await?;
    }
    Ok(knocks <= STRANGER_MOST)
}

/// Counts what somebody who has joined writes or presses; whether it is still looked at.
///
/// # Errors
/// Whatever the store fails with.
pub async fn may_go_on(desk: &mut Desk<'_>, person: &Person) -> store::Result<bool> {
    let Some(most) = desk.house.most_a_minute else { return Ok(true) };
    let span = (desk.now, desk.now.plus_seconds(-60));
    let count = people::count_knock(&mut desk.tx, person.chat_id, span).await?;
    if count == most + 1 {
        let letter = Letter::new(desk.voice(person).say("too-much-at-once", &Args::new().count("most", most)));
        desk.tell(person, letter).await?;
    }
    Ok(count <= most)
}
