//! What happens when a person says something: one module a task. Each takes a typed intent and the desk of one
//! transaction, and leaves state and messages there; nobody here calls the messaging service.

pub mod audience;
pub mod calendar;
pub mod crops;
pub mod cutoff;
pub mod desk;
pub mod flood;
pub mod giving;
pub mod growing;
pub mod joining;
pub mod letter;
pub mod ordering;
pub mod outage;
pub mod packing;
pub mod pages;
pub mod shortfall;
pub mod surplus;
pub mod table;
pub mod telling;
pub mod timetable;
pub mod trouble;
pub mod typing;
pub mod views;

pub use desk::Desk;
pub use letter::{Button, Letter};

use crate::incoming::{Account, Incoming, What};
use crate::intent::{Confirming, Intent, Origin, Waiting, permission};
use crate::phrase::{Phrase, Reading, courtesy};
use crate::wording::Args;
use scheduler::people::Person;
use scheduler::planted::{self, Bug};
use scheduler::store::{self, buttons, people};

/// Answers one update inside the desk's transaction.
///
/// # Errors
/// Whatever the store fails with; the caller then drops the transaction.
pub async fn converse(desk: &mut Desk<'_>, incoming: &Incoming) -> store::Result<()> {
    match &incoming.what {
        What::Unreachable => trouble::unreachable(desk, incoming.account.chat_id).await?,
        What::Reachable => people::mark_reachable(&mut desk.tx, incoming.account.chat_id).await?,
        What::LeftGroup => {
            people::remove_family_group(&mut desk.tx, incoming.chat_id).await?;
        }
        What::MemberLeft { account } => joining::group::left(desk, incoming.chat_id, *account).await?,
        What::GroupMoved { to } => trouble::moved(&mut desk.tx, incoming.chat_id, *to).await?,
        What::Said(text) => Box::pin(said(desk, incoming, text)).await?,
        What::Pressed { callback_id, token } => Box::pin(pressed(desk, incoming, callback_id, token)).await?,
    }
    Box::pin(packing::share_again(desk)).await?;
    telling::tell(desk).await
}

async fn said(desk: &mut Desk<'_>, incoming: &Incoming, text: &str) -> store::Result<()> {
    let person = people::by_chat(&mut desk.tx, incoming.account.chat_id).await?;
    let Some(person) = person else {
        return if incoming.is_group() { Ok(()) } else { joining::stranger(desk, &incoming.account, text).await };
    };
    people::mark_reachable(&mut desk.tx, person.chat_id).await?;
    if incoming.is_group() && !desk.is_family_group(incoming.chat_id).await? && !joining::group::is_named_by(text) {
        return Ok(());
    }
    if !flood::may_go_on(desk, &person).await? {
        return Ok(());
    }
    if let Some(intent) = crate::intent::commands::read(text) {
        buttons::close_question(&mut desk.tx, incoming.chat_id).await?;
        return act(desk, &person, intent).await;
    }
    if let Some(courtesy) = courtesy::read(text).filter(|_| !incoming.is_group())
        && !typing::is_just_asked(desk, &person).await?
    {
        return typing::courteous(desk, &person, courtesy).await;
    }
    if let Some(waiting) = desk.open_question(incoming.chat_id, &person).await?
        && answered(desk, &person, waiting, text).await?
    {
        return Ok(());
    }
    let origin = if incoming.is_group() { Origin::Group } else { Origin::Private };
    match crate::intent::free_text::read(desk, &person, text, origin).await? {
        Some(intent) => act(desk, &person, intent).await,
        None => Ok(()),
    }
}

async fn pressed(desk: &mut Desk<'_>, incoming: &Incoming, callback_id: &str, token: &str) -> store::Result<()> {
    let person = people::by_chat(&mut desk.tx, incoming.account.chat_id).await?;
    let button = buttons::find(&mut desk.tx, incoming.chat_id, token).await?;
    let voice = match &person {
        Some(person) => desk.voice(person),
        None => desk.voice_of_account(&incoming.account),
    };
    let dead_card = button.as_ref().filter(|button| button.is_void).map(|button| button.card.clone());
    // Unknown, forged, void, or of a program that knew other wishes: all the same to whoever pressed.
    let meant = match button {
        Some(button) if button.is_void => late_press(desk, (incoming.chat_id, token), button).await?,
        Some(button) => serde_json::from_str(&button.intent).ok().map(|intent| (button.card, intent)),
        None => None,
    };
    if person.is_none() && !flood::may_knock(desk, &incoming.account).await? {
        return Ok(());
    }
    if let Some(person) = &person {
        people::mark_reachable(&mut desk.tx, person.chat_id).await?;
        if !flood::may_go_on(desk, person).await? {
            return Ok(());
        }
    }
    let (Some(person), Some((card, intent))) = (person, meant) else {
        desk.toast(callback_id, &voice.plain("stale-button", &Args::new())).await?;
        return match dead_card {
            Some(card) => desk.clear_dead_keys(incoming.chat_id, card).await,
            None => Ok(()),
        };
    };
    if !is_allowed(&person, &intent) {
        // Said over the button: the card is other people's, and stays as it is for them.
        return desk.toast(callback_id, &voice.plain("not-for-your-role", &Args::new())).await;
    }
    desk.toast(callback_id, "").await?;
    desk.press(incoming.chat_id, card);
    if let Some(Waiting::Confirm(_)) = desk.open_question(incoming.chat_id, &person).await? {
        // It was answered by this button, or left for another thing.
        desk.close_question(&person).await?;
    }
    Box::pin(carry_out(desk, &person, intent)).await
}

/// What a press on a void button means, with its card: nothing, unless whoever pressed may still have seen the button and
/// pressing again adds to what was pressed before. It counts then as the same button of the card's newest version, so that
/// quick presses add up; where that has none, as what it said.
async fn late_press(
    desk: &mut Desk<'_>,
    (chat_id, token): (i64, &str),
    button: buttons::Button,
) -> store::Result<Option<(String, Intent)>> {
    let Ok(intent) = serde_json::from_str::<Intent>(&button.intent) else { return Ok(None) };
    let Some(again) = intent.again() else { return Ok(None) };
    let now = desk.now;
    if planted::is_on(Bug::DropLatePress) || !buttons::may_still_show(&mut desk.tx, (chat_id, token), now).await? {
        return Ok(None);
    }
    let live = buttons::live_on(&mut desk.tx, chat_id, &button.card).await?;
    let mut live = live.iter().filter_map(|text| serde_json::from_str::<Intent>(text).ok());
    let newest = live.find(|live| live.again().as_ref() == Some(&again));
    Ok(Some((button.card, newest.unwrap_or(intent))))
}

fn is_allowed(person: &Person, intent: &Intent) -> bool {
    let is_allowed = permission::may(person.role, intent);
    tracing::info!(action = intent.name(), role = ?person.role, is_allowed, "decided");
    is_allowed
}

/// Does what a person wants, if their role may.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, intent: Intent) -> store::Result<()> {
    if !is_allowed(person, &intent) {
        let text = desk.voice(person).say("not-for-your-role", &Args::new());
        return desk.answer(person, Letter::new(text)).await;
    }
    Box::pin(carry_out(desk, person, intent)).await?;
    telling::tell(desk).await
}

/// Does what somebody wants who may.
async fn carry_out(desk: &mut Desk<'_>, person: &Person, intent: Intent) -> store::Result<()> {
    // On the heap, each by itself: together they are too large for a small stack.
    match intent {
        Intent::Joining(ask) => Box::pin(joining::act(desk, person, ask)).await,
        Intent::Ordering(ask) => Box::pin(ordering::act(desk, person, ask)).await,
        Intent::Growing(ask) => Box::pin(growing::act(desk, person, ask)).await,
        Intent::Shortfall(ask) => Box::pin(shortfall::act(desk, person, ask)).await,
        Intent::Packing(ask) => Box::pin(packing::act(desk, person, ask)).await,
        Intent::Surplus(ask) => Box::pin(surplus::act(desk, person, ask)).await,
        Intent::Giving(ask) => Box::pin(giving::act(desk, person, ask)).await,
        Intent::Views(ask) => Box::pin(views::act(desk, person, ask)).await,
        Intent::Typing(ask) => Box::pin(typing::act_on(desk, person, ask)).await,
        Intent::Crops(ask) => Box::pin(crops::act(desk, person, ask)).await,
    }
}

/// Takes a typed text as the answer to the chat's open question; `false` when it is none.
async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    match waiting {
        Waiting::Joining(waiting) => joining::answered(desk, person, waiting, text).await,
        Waiting::Ordering(waiting) => ordering::answered(desk, person, waiting, text).await,
        Waiting::Growing(waiting) => growing::answered(desk, person, waiting, text).await,
        Waiting::Packing(waiting) => packing::answered(desk, person, waiting, text).await,
        Waiting::Surplus(waiting) => surplus::answered(desk, person, waiting, text).await,
        Waiting::Giving(waiting) => giving::answered(desk, person, waiting, text).await,
        Waiting::Crops(waiting) => crops::answered(desk, person, waiting, text).await,
        Waiting::Confirm(confirming) => confirmed(desk, person, *confirming, text).await,
    }
}

/// A typed yes or no to what was just said back. Anything else is another wish, and what was said back then waits for its
/// button only.
async fn confirmed(desk: &mut Desk<'_>, person: &Person, confirming: Confirming, text: &str) -> store::Result<bool> {
    let reading = crate::intent::free_text::read_phrase(desk, person, text);
    let is_word = matches!(reading, Reading::Understood(Phrase::Yes | Phrase::No));
    if is_word && !typing::is_said_back_last(desk, person).await? {
        // Something else was asked since.
        return Ok(false);
    }
    if !matches!(reading, Reading::Understood(_)) {
        // What was said back is still the last thing that waits for a yes.
        return Ok(false);
    }
    desk.close_question(person).await?;
    desk.spoken_day = match &confirming.yes {
        Intent::Ordering(ask) => ask.day(),
        _ => None,
    };
    let intent = match reading {
        Reading::Understood(Phrase::Yes) => confirming.yes,
        Reading::Understood(Phrase::No) => confirming.no,
        _ => return Ok(false),
    };
    act(desk, person, intent).await?;
    Ok(true)
}

/// What a stranger's account looks like to the conversation.
pub(crate) fn language_of(account: &Account, fallback: &str) -> String {
    account.language_code.as_deref().unwrap_or(fallback).to_owned()
}

/// Says that something went wrong and nothing was changed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn apologise(desk: &mut Desk<'_>, incoming: &Incoming) -> store::Result<()> {
    if !matches!(incoming.what, What::Said(_) | What::Pressed { .. }) {
        return Ok(());
    }
    // In somebody else's group nobody spoke to the bot.
    if incoming.is_group() && !desk.is_family_group(incoming.chat_id).await? {
        return Ok(());
    }
    let text = desk.voice_of_account(&incoming.account).say("went-wrong", &Args::new());
    desk.answer_here(Letter::new(text)).await
}
