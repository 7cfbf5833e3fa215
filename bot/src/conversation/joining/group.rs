//! The group that gets the family's notices. Rule: a keeper names it, and it gets nothing while no keeper is in it or after
//! whoever named it has left the list, until a keeper says so again.
//!
//! Who is in a group the service knows alone. It is asked through the outbox when a group is named, when somebody leaves the
//! group or the list, and every night; [`looked`] takes the answer.

use super::{Ask, tell_other_keepers};
use crate::conversation::audience::Audience;
use crate::conversation::{Button, Desk, Letter};
use crate::intent::{Intent, commands};
use crate::outgoing::Body;
use crate::wording::{Args, Voice, key};
use scheduler::people::{Person, Role};
use scheduler::store::outbox::Urgency;
use scheduler::store::{self, buttons, held, people};

/// Whether a text in a group that is not the family's is the command that makes it so.
pub fn is_named_by(text: &str) -> bool {
    matches!(commands::read(text), Some(Intent::Joining(Ask::Group)))
}

/// A keeper makes the group the family's.
pub(super) async fn name(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(chat_id) = desk.group_chat(person) else {
        return desk.answer(person, Letter::new(voice.say("group-only-in-group", &Args::new()))).await;
    };
    let is_news = people::family_group_named_by(&mut desk.tx, chat_id).await? != Some(Some(person.id));
    let now = desk.now;
    people::add_family_group(&mut desk.tx, chat_id, &person.language, (Some(person.id), now)).await?;
    settle(desk, chat_id, |voice| voice.say("group-goes-on", &Args::new())).await?;
    if is_news {
        let name = person.name.clone();
        tell_other_keepers(desk, person, |voice| {
            Letter::new(voice.say("group-named", &Args::new().text("name", name.clone())))
        })
        .await?;
    }
    look(desk, chat_id, &[]).await?;
    desk.answer(person, Letter::new(voice.say("group-set", &Args::new()))).await
}

/// A person of the family is off the list: a group they named waits for a keeper's word, and of any other group it is asked
/// whether they are still in it.
pub(super) async fn without(desk: &mut Desk<'_>, gone: &Person) -> store::Result<()> {
    for (chat_id, _) in people::family_groups(&mut desk.tx).await? {
        if people::family_group_named_by(&mut desk.tx, chat_id).await? == Some(Some(gone.id)) {
            pause(desk, chat_id).await?;
            desk.tell_family(Audience::Keepers, |voice| {
                let button = |text_key, ask| Button::new(voice.plain(text_key, &Args::new()), Intent::Joining(ask));
                Letter::new(voice.say("group-asked-anew", &Args::new().text("name", gone.name.clone())))
                    .row([
                        button(key("button-group-goes-on"), Ask::GroupGoesOn { chat: chat_id }),
                        button(key("button-no"), Ask::GroupEnds { chat: chat_id }),
                    ])
                    .on_card(card(chat_id))
                    .at_end()
            })
            .await?;
        }
        look(desk, chat_id, &[gone.chat_id]).await?;
    }
    Ok(())
}

/// Somebody has left a group: where it was a keeper, there may be none left in it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn left(desk: &mut Desk<'_>, chat_id: i64, account: i64) -> store::Result<()> {
    let person = people::by_chat(&mut desk.tx, account).await?;
    match person.is_some_and(|person| person.role == Role::Keeper) && desk.is_family_group(chat_id).await? {
        true => look(desk, chat_id, &[]).await,
        false => Ok(()),
    }
}

/// Asks of every group of the family's whether a keeper is still in it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look_at_all(desk: &mut Desk<'_>) -> store::Result<()> {
    for (chat_id, _) in people::family_groups(&mut desk.tx).await? {
        look(desk, chat_id, &[]).await?;
    }
    Ok(())
}

async fn look(desk: &mut Desk<'_>, chat_id: i64, others: &[i64]) -> store::Result<()> {
    let keepers = people::with_role(&mut desk.tx, Role::Keeper).await?;
    let accounts = keepers.iter().map(|keeper| keeper.chat_id).chain(others.iter().copied()).collect();
    desk.put(chat_id, &Body::WhoIsThere { accounts }, Urgency::Notice).await
}

/// The service has said who of those asked about is in the group.
///
/// # Errors
/// Whatever the store fails with.
pub async fn looked(desk: &mut Desk<'_>, chat_id: i64, present: &[i64]) -> store::Result<()> {
    let everybody = people::everybody(&mut desk.tx).await?;
    let role_of = |account: i64| everybody.iter().find(|person| person.chat_id == account).map(|person| person.role);
    for account in present.iter().filter(|account| !role_of(**account).is_some_and(Role::is_family)) {
        let Some(name) = people::name_of_account(&mut desk.tx, *account).await? else { continue };
        desk.tell_family(Audience::Keepers, |voice| {
            Letter::new(voice.say("group-still-there", &Args::new().text("name", name.clone())))
        })
        .await?;
    }
    let has_keeper = present.iter().any(|account| role_of(*account) == Some(Role::Keeper));
    if !has_keeper && desk.is_family_group(chat_id).await? {
        pause(desk, chat_id).await?;
        desk.tell_family(Audience::Keepers, |voice| Letter::new(voice.say("group-without-keeper", &Args::new())))
            .await?;
    }
    Ok(())
}

/// A keeper says that the group is written to again, and answers for it from now on.
pub(super) async fn goes_on(desk: &mut Desk<'_>, person: &Person, chat_id: i64) -> store::Result<()> {
    let Some(language) = people::paused_family_group(&mut desk.tx, chat_id).await? else {
        return stale(desk, person).await;
    };
    let now = desk.now;
    people::add_family_group(&mut desk.tx, chat_id, &language, (Some(person.id), now)).await?;
    look(desk, chat_id, &[]).await?;
    answer(desk, person, (chat_id, key("group-goes-on"))).await
}

/// A keeper says that nothing is sent there any more.
pub(super) async fn ends(desk: &mut Desk<'_>, person: &Person, chat_id: i64) -> store::Result<()> {
    if people::paused_family_group(&mut desk.tx, chat_id).await?.is_none() {
        return stale(desk, person).await;
    }
    people::remove_family_group(&mut desk.tx, chat_id).await?;
    answer(desk, person, (chat_id, key("group-ended"))).await
}

async fn answer(desk: &mut Desk<'_>, person: &Person, (chat_id, text_key): (i64, &'static str)) -> store::Result<()> {
    let text = desk.voice(person).say(text_key, &Args::new());
    desk.answer(person, Letter::new(text)).await?;
    settle(desk, chat_id, |voice| voice.say(text_key, &Args::new())).await
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let text = desk.voice(person).say("stale-button", &Args::new());
    desk.answer(person, Letter::new(text)).await
}

/// Nothing goes to the group from now on: its buttons are dead, too, so that no card there is brought up to date.
async fn pause(desk: &mut Desk<'_>, chat_id: i64) -> store::Result<()> {
    let now = desk.now;
    people::pause_family_group(&mut desk.tx, chat_id, now).await?;
    buttons::forget_all(&mut desk.tx, chat_id).await?;
    held::take_back_all(&mut desk.tx, chat_id).await?;
    Ok(())
}

/// The card by which the keepers are asked about a group.
fn card(chat_id: i64) -> String {
    format!("group:{chat_id}")
}

async fn settle(desk: &mut Desk<'_>, chat_id: i64, text: impl Fn(&Voice) -> String) -> store::Result<()> {
    desk.settle_card(&card(chat_id), |voice| Letter::new(text(voice))).await
}
