//! What is asked for one delivery: placed, changed, the same as last time, skipped, withdrawn. Said back first, unless the
//! wish is sure.

use super::change::{Note, settle};
use super::limits::{self, open_delivery};
use super::{Ask, Beside, Lines, button, card, confirm, read_book, refuse, reply};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::delivery::calendar::Delivery;
use scheduler::farm::ordering::limits::lines;
use scheduler::farm::ordering::{Book, Sums, day};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Weights for a day.
#[derive(Clone)]
pub struct Place {
    pub lines: Lines,
    pub day: Option<LocalDate>,
    pub beside: Option<Beside>,
    pub sure: bool,
}

/// What is to go from a day.
#[derive(Clone)]
pub struct Off {
    pub day: Option<LocalDate>,
    pub crop: Option<String>,
    pub sure: bool,
}

fn amounts<'a>(house: &House, voice: &Voice, lines: impl IntoIterator<Item = (&'a String, &'a Grams)>) -> Vec<String> {
    lines.into_iter().map(|(crop, grams)| house.amount(crop, *grams, voice)).collect()
}

/// Sets one-off lines.
///
/// # Errors
/// Whatever the store fails with.
pub async fn place(desk: &mut Desk<'_>, person: &Person, place: Place) -> store::Result<()> {
    let Some((delivery, sums, before)) = taken(desk, person, &place, Ask::place).await? else { return Ok(()) };
    let (voice, house, date) = (desk.voice(person), desk.house, delivery.date);
    let due = day::due_beside(&before, date, &sums);
    let understood = Args::new().list("amounts", amounts(house, &voice, &sums)).date("day", date);
    if !due.is_empty() && place.beside.is_none() {
        let args = Args::new()
            .list("standing", amounts(house, &voice, &due))
            .list("asked", amounts(house, &voice, sums.iter().filter(|(crop, _)| due.contains_key(*crop))));
        let html = [voice.say("order-understood", &understood), voice.say("order-beside-question", &args)].join("\n");
        let with = |beside| Ask::place(Place { day: Some(date), beside: Some(beside), sure: true, ..place.clone() });
        let say = |text_key| voice.plain(text_key, &Args::new());
        let letter = Letter::new(html)
            .row([
                button(say(key("order-button-in-place")), with(Beside::InPlace)),
                button(say(key("order-button-on-top")), with(Beside::OnTop)),
            ])
            .row([button(say(key("order-button-leave")), Ask::Leave { day: Some(date) })]);
        return reply(desk, person, letter).await;
    }
    if !place.sure {
        let html = question(&voice, voice.say("order-understood", &understood), &delivery);
        let yes = Ask::place(Place { day: Some(date), sure: true, ..place });
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    let change = day::place(&desk.farm(), before, (date, &sums), place.beside);
    settle(desk, person, change).await
}

/// Sets all that is asked of crops on a day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn change(desk: &mut Desk<'_>, person: &Person, place: Place) -> store::Result<()> {
    let Some((delivery, sums, before)) = taken(desk, person, &place, Ask::change).await? else { return Ok(()) };
    let (voice, house, date) = (desk.voice(person), desk.house, delivery.date);
    if !place.sure {
        let args = Args::new().list("amounts", amounts(house, &voice, &sums)).date("day", date);
        let html = question(&voice, voice.say("order-understood-change", &args), &delivery);
        let yes = Ask::change(Place { day: Some(date), sure: true, ..place });
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    let change = day::set_totals(&desk.farm(), before, (date, &sums));
    settle(desk, person, change).await
}

/// What was understood, when orders close, and whether it is right.
pub(super) fn question(voice: &Voice, understood: String, delivery: &Delivery) -> String {
    let closes_at = delivery.cutoff_at.map(|at| voice.say("order-closes", &Args::new().day_time("until", at)));
    let lines = [understood].into_iter().chain(closes_at).chain([voice.say("order-right-question", &Args::new())]);
    lines.collect::<Vec<_>>().join("\n")
}

/// The delivery, the weights and the book, when all of that can be taken; otherwise the person is answered.
async fn taken(
    desk: &mut Desk<'_>,
    person: &Person,
    place: &Place,
    ask: fn(Place) -> Ask,
) -> store::Result<Option<(Delivery, Sums, Book)>> {
    let voice = desk.voice(person);
    let sums = match lines((&desk.house.crops, &desk.house.config.rules), &place.lines) {
        Ok(sums) => sums,
        Err(refused) => {
            let html = limits::refusal(desk.house, &voice, &refused);
            return refuse(desk, person, html).await.map(|()| None);
        }
    };
    let again = |day| ask(Place { day: Some(day), ..place.clone() });
    let Some(delivery) = open_delivery(desk, person, place.day, again).await? else { return Ok(None) };
    let Some(book) = read_book(desk, person).await? else { return Ok(None) };
    if sums.is_empty() {
        return card::of_day(desk, person, (&book, delivery.date), Note::default()).await.map(|()| None);
    }
    Ok(Some((delivery, sums, book)))
}

/// Makes a day's crops what they were last time. Other one-off lines go; other standing orders stay.
///
/// # Errors
/// Whatever the store fails with.
pub async fn same_as_last(
    desk: &mut Desk<'_>,
    person: &Person,
    (day, sure): (Option<LocalDate>, bool),
) -> store::Result<()> {
    let again = |day| Ask::SameAsLast { day: Some(day), sure };
    let Some(delivery) = open_delivery(desk, person, day, again).await? else { return Ok(()) };
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let (voice, house, date) = (desk.voice(person), desk.house, delivery.date);
    let last = day::last_before(&mut desk.farm(), &before, date).await?.unwrap_or_default();
    let last: Sums =
        last.into_iter().filter(|(crop, _)| house.crops.get(crop).is_some() && !house.crops.is_resting(crop)).collect();
    if last.is_empty() {
        return card::of_day(desk, person, (&before, date), Note::says(key("order-no-last-time"))).await;
    }
    if !sure {
        let args = Args::new().list("amounts", amounts(house, &voice, &last)).date("day", date);
        let html = question(&voice, voice.say("order-understood", &args), &delivery);
        let yes = Ask::SameAsLast { day: Some(date), sure: true };
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    let change = day::same_as_last(&desk.farm(), before, (date, &last));
    settle(desk, person, change).await
}

/// Nothing that day, of one crop or at all.
///
/// # Errors
/// Whatever the store fails with.
pub async fn skip(desk: &mut Desk<'_>, person: &Person, off: Off) -> store::Result<()> {
    let Some((date, before)) = to_go(desk, person, &off, Ask::skip).await? else { return Ok(()) };
    let there = day::asked_of(&before, (date, off.crop.as_deref()), &desk.farm());
    if there.is_empty() {
        return card::of_day(desk, person, (&before, date), Note::says(key("order-nothing-to-skip"))).await;
    }
    if !off.sure {
        let (voice, house) = (desk.voice(person), desk.house);
        let args = Args::new().list("amounts", amounts(house, &voice, &there)).date("day", date);
        let yes = Ask::skip(Off { day: Some(date), sure: true, ..off });
        let html = voice.say("order-skip-question", &args);
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    let change = day::skip(&desk.farm(), before, (date, &there));
    settle(desk, person, change).await
}

/// Takes one-off lines back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn withdraw(desk: &mut Desk<'_>, person: &Person, off: Off) -> store::Result<()> {
    let Some((date, before)) = to_go(desk, person, &off, Ask::withdraw).await? else { return Ok(()) };
    let there = day::once_of(&before, (date, off.crop.as_deref()));
    if there.is_empty() {
        // Only standing orders, or nothing: leaving a date out of those is another thing, so it is asked.
        return skip(desk, person, Off { sure: false, ..off }).await;
    }
    if !off.sure {
        let (voice, house) = (desk.voice(person), desk.house);
        let args = Args::new().list("amounts", amounts(house, &voice, &there)).date("day", date);
        let yes = Ask::withdraw(Off { day: Some(date), sure: true, ..off });
        let html = voice.say("order-withdraw-question", &args);
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    settle(desk, person, day::withdraw(before, (date, &there))).await
}

async fn to_go(
    desk: &mut Desk<'_>,
    person: &Person,
    off: &Off,
    ask: fn(Off) -> Ask,
) -> store::Result<Option<(LocalDate, Book)>> {
    let voice = desk.voice(person);
    if let Some(crop) = off.crop.as_ref().filter(|crop| desk.house.crops.get(crop).is_none()) {
        let refusal = limits::unknown_crop(desk.house, &voice, crop);
        return refuse(desk, person, refusal).await.map(|()| None);
    }
    let again = |day| ask(Off { day: Some(day), ..off.clone() });
    let Some(delivery) = open_delivery(desk, person, off.day, again).await? else { return Ok(None) };
    Ok(read_book(desk, person).await?.map(|book| (delivery.date, book)))
}

impl Ask {
    fn place(place: Place) -> Ask {
        Ask::Place { lines: place.lines, day: place.day, beside: place.beside, sure: place.sure }
    }

    fn change(place: Place) -> Ask {
        Ask::Change { lines: place.lines, day: place.day, sure: place.sure }
    }

    fn skip(off: Off) -> Ask {
        Ask::Skip { day: off.day, crop: off.crop, sure: off.sure }
    }

    fn withdraw(off: Off) -> Ask {
        Ask::Withdraw { day: off.day, crop: off.crop, sure: off.sure }
    }
}
