//! What a food bank writes in its own words: a part of it, no room, another time, not after all. It is about the drop that it
//! was asked about last; a button says what would be done where the words leave anything open.

use super::{Ask, answering, button, proposing, record, told};
use crate::conversation::{Desk, Letter};
use crate::wording::key;
use chrono::Timelike;
use scheduler::clock::LocalDate;
use scheduler::farm::giving::{Gift, answering as farm};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::surplus::drop::State;

async fn proposed(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<Gift>> {
    farm::spoken_of(&mut desk.farm(), person, State::Proposed).await
}

/// It takes so much, of the crop it names or of the only one there is.
pub(super) async fn take(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, grams): (Option<String>, Grams),
) -> store::Result<()> {
    let Some(gift) = proposed(desk, person).await? else { return record::drops(desk, person).await };
    let load = gift.drop.load();
    let crop = match (crop, load.as_slice()) {
        (Some(crop), load) if load.iter().any(|(of, _)| *of == crop) => crop,
        (None, [(only, _)]) => only.clone(),
        _ => return ask_again(desk, person, &gift).await,
    };
    let outcome = farm::agree_to_part(&mut desk.farm(), person, (gift.drop.id, &crop, grams)).await?;
    answering::agreed(desk, person, outcome).await
}

/// It has no room: for what was proposed, or for what was agreed, which is asked; on a day it names, the dates are shown.
pub(super) async fn full(desk: &mut Desk<'_>, person: &Person, day: Option<LocalDate>) -> store::Result<()> {
    let zone = desk.house.zone();
    let is_then = |gift: &Gift| day.is_none_or(|day| gift.drop.window.opens_at.local_date(zone) == day);
    if let Some(gift) = proposed(desk, person).await?.filter(&is_then) {
        return answering::decline(desk, person, gift.drop.id).await;
    }
    if day.is_none() && farm::spoken_of(&mut desk.farm(), person, State::Agreed).await?.is_some() {
        return cancel(desk, person).await;
    }
    match person.partner_id {
        Some(bank) => super::full_days::ask(desk, person, bank).await,
        None => record::drops(desk, person).await,
    }
}

/// Another day or time: the times there are on that day, or all of them.
pub(super) async fn other_time(
    desk: &mut Desk<'_>,
    person: &Person,
    (day, minute): (Option<LocalDate>, Option<u16>),
) -> store::Result<()> {
    let Some(gift) = proposed(desk, person).await? else { return record::drops(desk, person).await };
    let zone = desk.house.zone();
    let is_day = day.is_none_or(|day| gift.drop.window.opens_at.local_date(zone) == day);
    let is_time = minute.is_none_or(|minute| {
        let of = |at: scheduler::clock::UtcSeconds| {
            let time = at.local(zone).time();
            u16::try_from(time.hour() * 60 + time.minute()).unwrap_or(u16::MAX)
        };
        (of(gift.drop.window.opens_at)..of(gift.drop.window.closes_at)).contains(&minute)
    });
    // The time that was proposed all along: a yes by its button, not by naming it.
    if is_day && is_time {
        return ask_again(desk, person, &gift).await;
    }
    answering::other_times(desk, person, gift.drop.id).await
}

/// What was agreed is not to come after all: asked, since it is final.
pub(super) async fn cancel(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    if let Some(gift) = proposed(desk, person).await? {
        return answering::decline(desk, person, gift.drop.id).await;
    }
    let Some(gift) = farm::spoken_of(&mut desk.farm(), person, State::Agreed).await? else {
        return record::drops(desk, person).await;
    };
    let voice = desk.voice(person);
    let letter = Letter::new(voice.say("gift-cancel-question", &told(desk.house, &voice, &gift))).row([button(
        &voice,
        key("button-cancel-gift"),
        Ask::Decline { drop: gift.drop.id },
    )]);
    desk.answer(person, letter.on_card("gift-cancel").at_end()).await
}

/// The proposal again, with its buttons.
async fn ask_again(desk: &mut Desk<'_>, person: &Person, gift: &Gift) -> store::Result<()> {
    let voice = desk.voice(person);
    let letter = proposing::gift_card(desk.house, &voice, gift);
    desk.answer(person, letter.at_end()).await
}
