//! Standing orders resting, going on and ending.

use super::change::{Note, settle};
use super::standing::list;
use super::{Ask, View, button, confirm, limits, read_book, refuse, reply};
use crate::conversation::{Desk, Letter};
use crate::wording::{Args, DateForm, key};
use scheduler::clock::LocalDate;
use scheduler::farm::ordering::{Book, standing};
use scheduler::id::Id;
use scheduler::orders::standing::Pause;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::orders::Standing;

/// Resting until told to go on.
pub const OPEN_END: LocalDate = LocalDate::from_ymd_opt(9999, 12, 31).expect("a date");
/// Deliveries looked at for the first one of a rest that begins later.
const DELIVERIES_LOOKED_AT: usize = 60;
/// Days to choose from for going on.
const DAYS_SHOWN: usize = 6;

/// Rests every standing order from the next delivery still open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pause(
    desk: &mut Desk<'_>,
    person: &Person,
    (from, until, sure): (Option<LocalDate>, Option<LocalDate>, bool),
) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    if before.standing.is_empty() {
        return list(desk, person, &before, Note::default()).await;
    }
    let mut open = house.calendar.upcoming(desk.now, DELIVERIES_LOOKED_AT).into_iter();
    let Some(first) = open.find(|delivery| delivery.is_open(desk.now) && from.is_none_or(|from| delivery.date >= from))
    else {
        return refuse(desk, person, voice.say("order-no-delivery", &Args::new())).await;
    };
    let Some(until) = until else {
        let mut letter = Letter::new(voice.say("standing-until-when", &Args::new()));
        let days: Vec<LocalDate> = open.take(DAYS_SHOWN).map(|delivery| delivery.date).collect();
        for pair in days.chunks(2) {
            let back = |day: &LocalDate| {
                let label = voice.plain("standing-button-back", &Args::new().date_as("day", *day, DateForm::Short));
                button(label, Ask::Pause { from, until: Some(*day), sure: true })
            };
            letter = letter.row(pair.iter().map(back));
        }
        let open_end = Ask::Pause { from, until: Some(OPEN_END), sure: true };
        let label = voice.plain("standing-button-open-end", &Args::new());
        return reply(desk, person, letter.row([button(label, open_end)])).await;
    };
    if until <= first.date {
        let args = Args::new().date_as("day", until, DateForm::WithYear).date("next", first.date);
        return refuse(desk, person, voice.say("standing-pause-early", &args)).await;
    }
    if !sure {
        let since = Args::new().date("from", first.date);
        let html = if until == OPEN_END {
            voice.say("standing-pause-open-question", &since)
        } else {
            voice.say("standing-pause-question", &since.date("until", until))
        };
        let yes = Ask::Pause { from, until: Some(until), sure: true };
        return confirm(desk, person, html, (yes, Ask::Show(View::Standing))).await;
    }
    let pause = Pause { from: first.date, resumes_on: until };
    let change = standing::rest(&desk.farm(), before, Some(pause));
    settle(desk, person, change).await
}

/// Lets every standing order go on.
///
/// # Errors
/// Whatever the store fails with.
pub async fn resume(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let change = standing::rest(&desk.farm(), before, None);
    settle(desk, person, change).await
}

/// Ends the standing orders of a crop, or all.
///
/// # Errors
/// Whatever the store fails with.
pub async fn end(desk: &mut Desk<'_>, person: &Person, (crop, sure): (Option<String>, bool)) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let is_its = |stored: &Standing| crop.as_ref().is_none_or(|crop| *crop == stored.crop);
    let unknown = crop.as_ref().filter(|crop| desk.house.crops.get(crop).is_none());
    if let Some(unknown) = unknown.filter(|_| !before.stored().values().any(is_its)) {
        return refuse(desk, person, limits::unknown_crop(desk.house, &voice, unknown)).await;
    }
    let yes = Ask::End { crop: crop.clone(), sure: true };
    ended(desk, person, (before, is_its), (!sure).then_some(yes)).await
}

/// Ends one standing order.
///
/// # Errors
/// Whatever the store fails with.
pub async fn end_one(desk: &mut Desk<'_>, person: &Person, (id, sure): (Id, bool)) -> store::Result<()> {
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let yes = Ask::EndOne { id, sure: true };
    ended(desk, person, (before, |stored: &Standing| stored.id == id), (!sure).then_some(yes)).await
}

/// Ends those standing orders, or asks first.
async fn ended(
    desk: &mut Desk<'_>,
    person: &Person,
    (before, is_meant): (Book, impl Fn(&Standing) -> bool),
    yes: Option<Ask>,
) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let meant: Vec<Standing> = before.stored().into_values().filter(|stored| is_meant(stored)).collect();
    if meant.is_empty() {
        return list(desk, person, &before, Note::says(key("standing-not-there"))).await;
    }
    if let Some(yes) = yes {
        let amounts = meant.iter().map(|stored| house.amount(&stored.crop, stored.usual, &voice)).collect();
        let html = voice.say("standing-end-question", &Args::new().list("amounts", amounts));
        return confirm(desk, person, html, (yes, Ask::Show(View::Standing))).await;
    }
    settle(desk, person, standing::end(before, is_meant)).await
}
