//! What is coming to a restaurant, and what it had before.

use super::{Ask, View, button, card, read_book, reply};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, DateForm, Voice, key};
use chrono::Days;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::ordering::Book;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::deliveries::{self, Award};
use scheduler::store::surplus;
use std::collections::BTreeMap;

/// Deliveries on one page.
const PAGE: usize = 4;
/// Pages of coming deliveries.
const PAGES_MAX: usize = 6;
/// How far back deliveries are shown.
const HISTORY_DAYS: u64 = 730;

type Awards = BTreeMap<LocalDate, Vec<Award>>;

async fn awards(desk: &mut Desk<'_>, book: &Book, from: LocalDate) -> store::Result<Awards> {
    let mut by_day = Awards::new();
    for award in deliveries::awards_of_buyer(&mut desk.tx, book.buyer_id, from).await? {
        by_day.entry(award.day).or_default().push(award);
    }
    Ok(by_day)
}

/// The coming deliveries with what is asked, or promised once orders are closed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn coming(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let (voice, house, now) = (desk.voice(person), desk.house, desk.now);
    let awards = awards(desk, &book, book.today).await?;
    let all = house.calendar.upcoming(now, PAGE * PAGES_MAX);
    let page = page.min(all.len().div_ceil(PAGE).saturating_sub(1));
    let shown = all.iter().skip(page * PAGE).take(PAGE);
    let mut waiting = surplus::claims_waiting(&mut desk.tx).await?;
    waiting.retain(|claim| claim.buyer_id == book.buyer_id);
    let mut parts = Vec::new();
    let mut open = Vec::new();
    for delivery in shown {
        let day = delivery.date;
        let mut part = match awards.get(&day) {
            Some(lines) => closed_text(house, &voice, (day, lines)),
            None => card::text(house, &voice, (&book, day), now),
        };
        for claim in waiting.iter().filter(|claim| claim.goes_on() == Some(day)) {
            let what = house.amount(&claim.crop, claim.grams, &voice);
            part = format!("{part}\n{}", voice.say("order-along", &Args::new().text("what", what)));
        }
        parts.push(part);
        if delivery.is_open(now) {
            let ask = Ask::Card { day: Some(day) };
            let label = Args::new().date_as("day", day, DateForm::Short);
            open.push(button(voice.plain("order-button-change-day", &label), ask));
        }
    }
    if parts.is_empty() {
        parts.push(voice.say("order-no-delivery", &Args::new()));
    }
    let mut letter = Letter::new(parts.join("\n\n"));
    while !open.is_empty() {
        letter = letter.row(open.drain(..open.len().min(2)));
    }
    let say = |text_key| voice.plain(text_key, &Args::new());
    let turn = |to| Ask::Show(View::Coming { page: to });
    let earlier = (page > 0).then(|| button(say(key("order-button-sooner")), turn(page.saturating_sub(1))));
    let later = (all.len() > (page + 1) * PAGE).then(|| button(say(key("order-button-later")), turn(page + 1)));
    letter = letter.row(earlier.into_iter().chain(later));
    letter = letter.row([
        button(say(key("order-button-standing")), Ask::Show(View::Standing)),
        button(say(key("order-button-history")), Ask::Show(View::History { page: 0 })),
    ]);
    reply(desk, person, letter).await
}

/// Earlier deliveries, newest first.
///
/// # Errors
/// Whatever the store fails with.
pub async fn history(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let (voice, house) = (desk.voice(person), desk.house);
    let from = book.today.checked_sub_days(Days::new(HISTORY_DAYS)).unwrap_or(book.today);
    let mut by_day = awards(desk, &book, from).await?;
    by_day.retain(|day, lines| has_passed(house, *day, desk.now) || lines.iter().any(|line| line.delivered.is_some()));
    let page = page.min(by_day.len().div_ceil(PAGE).saturating_sub(1));
    let shown = by_day.iter().rev().skip(page * PAGE).take(PAGE);
    let mut parts: Vec<String> = shown.map(|(day, lines)| closed_text(house, &voice, (*day, lines))).collect();
    if parts.is_empty() {
        parts.push(voice.say("order-no-history", &Args::new()));
    }
    let say = |text_key| voice.plain(text_key, &Args::new());
    let turn = |to| Ask::Show(View::History { page: to });
    let earlier = (by_day.len() > (page + 1) * PAGE).then(|| button(say(key("order-button-sooner")), turn(page + 1)));
    let later = (page > 0).then(|| button(say(key("order-button-later")), turn(page.saturating_sub(1))));
    let letter = Letter::new(parts.join("\n\n"))
        .row(earlier.into_iter().chain(later))
        .row([button(say(key("order-button-coming")), Ask::Show(View::Coming { page: 0 }))]);
    reply(desk, person, letter).await
}

fn has_passed(house: &House, day: LocalDate, now: UtcSeconds) -> bool {
    house.calendar.departure(day) <= now
}

/// A day whose orders are closed: asked, promised, delivered.
fn closed_text(house: &House, voice: &Voice, (day, lines): (LocalDate, &[Award])) -> String {
    let heading = voice.say("order-day", &Args::new().date("day", day));
    let of = |award: &Award| {
        let args = Args::new()
            .text("crop", house.crop_name(&award.crop, voice))
            .weight("asked", award.asked)
            .weight("promised", award.promised);
        match award.delivered {
            Some(delivered) => voice.say("order-award-delivered", &args.weight("delivered", delivered)),
            None => voice.say("order-award", &args),
        }
    };
    [heading].into_iter().chain(lines.iter().map(of)).collect::<Vec<_>>().join("\n")
}
