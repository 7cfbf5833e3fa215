//! The food bank's answer as it is pressed: agreed, another time, not this time; and the family's calling off.

use super::{Ask, button, proposing, settle, stale, told};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::farm::giving::{Gift, Outcome, answering, gift_of};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::store;
use scheduler::surplus::drop::State;
use scheduler::surplus::opening::Window;

/// The drop as it is now, and what happened noted to be told; `None`, and said so, where it comes too late.
async fn done(desk: &mut Desk<'_>, person: &Person, outcome: Outcome) -> store::Result<Option<Gift>> {
    match outcome {
        Outcome::Unknown => stale(desk, person).await.map(|()| None),
        Outcome::NotNow(gift) => not_now(desk, person, &gift).await.map(|()| None),
        Outcome::Done(gift, events) => {
            desk.happened(events);
            Ok(Some(gift))
        }
    }
}

/// Says how a drop stands to whoever pressed too late.
async fn not_now(desk: &mut Desk<'_>, person: &Person, gift: &Gift) -> store::Result<()> {
    let text_key = match gift.drop.state() {
        State::Agreed => key("drop-is-agreed"),
        State::HandedOver => key("drop-is-over"),
        _ => key("drop-is-off"),
    };
    answer(desk, person, (gift, text_key)).await
}

async fn answer(desk: &mut Desk<'_>, person: &Person, (gift, text_key): (&Gift, &'static str)) -> store::Result<()> {
    let voice = desk.voice(person);
    let text = voice.say(text_key, &told(desk.house, &voice, gift));
    desk.answer(person, Letter::new(text)).await
}

/// The food bank agrees, or the keeper says that it did.
pub(super) async fn agree(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let outcome = answering::agree(&mut desk.farm(), person, drop_id).await?;
    agreed(desk, person, outcome).await
}

pub(super) async fn agreed(desk: &mut Desk<'_>, person: &Person, outcome: Outcome) -> store::Result<()> {
    let Some(gift) = done(desk, person, outcome).await? else { return Ok(()) };
    let text_key = if person.role == Role::Pantry { key("gift-agreed") } else { key("drop-agreed") };
    answer(desk, person, (&gift, text_key)).await
}

/// Shows the other times at which the stock still keeps and the food bank is open.
pub(super) async fn other_times(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some(gift) = gift_of(&mut desk.farm(), person, drop_id).await? else { return stale(desk, person).await };
    if gift.drop.state() != State::Proposed {
        return not_now(desk, person, &gift).await;
    }
    let voice = desk.voice(person);
    let windows = answering::other_windows(&mut desk.farm(), &gift).await?;
    if windows.is_empty() {
        let mut letter = proposing::gift_card(desk.house, &voice, &gift);
        letter.html = format!("{}\n\n{}", voice.say("gift-no-other-time", &Args::new()), letter.html);
        return desk.answer(person, Letter { card: None, ..letter }).await;
    }
    let mut letter = Letter::new(voice.say("gift-other-times", &told(desk.house, &voice, &gift)));
    for window in windows {
        let args = Args::new().date("day", window.opens_at.local_date(desk.house.zone()));
        let label = voice.plain("button-window", &args.time("from", window.opens_at).time("to", window.closes_at));
        let ask = Ask::At { drop: drop_id, opens_at: window.opens_at, closes_at: window.closes_at };
        letter = letter.row([Button::new(label, Intent::Giving(ask))]);
    }
    let letter = letter.row([
        button(&voice, key("button-agree-first"), Ask::Agree { drop: drop_id }),
        button(&voice, key("button-not-this-time"), Ask::Decline { drop: drop_id }),
    ]);
    desk.answer(person, letter).await
}

/// The food bank chooses one of the other times; where the farm cannot keep it any more, it sees those there are now.
pub(super) async fn at(desk: &mut Desk<'_>, person: &Person, (drop_id, window): (Id, Window)) -> store::Result<()> {
    match answering::agree_to(&mut desk.farm(), person, (drop_id, window)).await? {
        None => other_times(desk, person, drop_id).await,
        Some(outcome) => agreed(desk, person, outcome).await,
    }
}

/// Not this time: the next food bank is asked.
pub(super) async fn decline(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let outcome = answering::decline(&mut desk.farm(), person, drop_id).await?;
    let Some(gift) = done(desk, person, outcome).await? else { return Ok(()) };
    answer(desk, person, (&gift, key("gift-declined"))).await
}

/// The family calls a drop off, before or because it could not be brought.
pub(super) async fn call_off(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let outcome = answering::call_off(&mut desk.farm(), person, drop_id).await?;
    let Some(gift) = done(desk, person, outcome).await? else { return Ok(()) };
    say_called_off(desk, person, &gift).await
}

/// Answers whoever called a drop off.
pub(super) async fn say_called_off(desk: &mut Desk<'_>, person: &Person, gift: &Gift) -> store::Result<()> {
    let house = desk.house;
    let text = |voice: &Voice| voice.say("drop-called-off", &told(house, voice, gift));
    // First, because the answer may stand on one of these cards with a button of its own.
    settle(desk, gift.drop.id, text).await?;
    let voice = desk.voice(person);
    let mut letter = Letter::new(text(&voice));
    if person.role == Role::Keeper {
        letter = letter.row([button(&voice, key("button-again"), Ask::Again { drop: gift.drop.id })]);
    }
    desk.answer(person, letter).await
}
