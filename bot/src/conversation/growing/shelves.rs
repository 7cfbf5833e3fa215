//! What stands on the shelves: the list by crop and room, and the card of one batch with what can be done to it.

use super::shelf::{self, Shelf};
use super::warmth::warmth_button;
use super::{Ask, button, choosing, shelves_button};
use crate::conversation::{Button, Desk, Letter, pages};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;

/// Batches on one page.
const PAGE: usize = 6;

/// The list, one page of it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn list(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let voice = desk.voice(person);
    let (house, today) = (desk.house, desk.today());
    let mut there = batches::active(&mut desk.farm()).await?;
    let new_batch = button(voice.plain("button-new-batch", &Args::new()), Ask::NewBatch);
    if there.is_empty() {
        let letter = Letter::new(voice.say("shelves-empty", &Args::new())).row([new_batch]);
        return desk.answer(person, letter).await;
    }
    let place = |crop: &str| house.crops.iter().position(|one| one.key.as_str() == crop).unwrap_or(usize::MAX);
    there.sort_by_cached_key(|shelf| (place(&shelf.batch.crop), shelf.batch.room.clone(), shelf.batch.id));
    let page = pages::page(&voice, &there, (page, PAGE), |page| Intent::Growing(Ask::Shelves { page }));
    let mut lines = vec![voice.say("shelves-heading", &Args::new())];
    let mut letter = Letter::new("");
    for shelf in page.items {
        lines.push(String::new());
        lines.extend(card(desk, &voice, shelf));
        let label = shelf::label(house, &voice, shelf, today);
        letter = letter.row([button(label, Ask::Show { batch: shelf.batch.id })]);
    }
    lines.extend(page.line.into_iter().flat_map(|line| [String::new(), line]));
    letter.html = lines.join("\n");
    desk.answer(person, letter.row(page.row).row([new_batch])).await
}

/// The card of one batch.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let letter = Letter::new(card(desk, &voice, &shelf).join("\n"));
    let letter = actions(desk.house, &voice, &shelf).into_iter().fold(letter, Letter::row);
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// Says a change back: what was written down, the state of the batch now, and the way back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn changed(
    desk: &mut Desk<'_>,
    person: &Person,
    (done, batch): (String, Id),
    undo: Option<Ask>,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let mut lines = vec![done];
    let mut rows = Vec::new();
    if let Some(shelf) = batches::find(&mut desk.farm(), batch).await? {
        lines.extend(card(desk, &voice, &shelf));
        if !shelf.is_spent {
            rows = actions(desk.house, &voice, &shelf);
        }
    }
    let undo = undo.map(|ask| button(voice.plain("button-undo", &Args::new()), ask));
    let letter = Letter::new(lines.join("\n")).row(undo);
    let letter = rows.into_iter().fold(letter, Letter::row);
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// The lines that describe a batch, HTML.
pub fn card(desk: &Desk<'_>, voice: &Voice, shelf: &Shelf) -> Vec<String> {
    let today = desk.today();
    let Shelf { batch, flush, .. } = shelf;
    let args = Args::new()
        .text("batch", shelf::name(desk.house, voice, shelf))
        .text("place", shelf.number.to_string())
        .text("number", flush.number.to_string())
        .text("flushes", batches::flushes_of(&batch.crop, &desk.house.crops).to_string());
    let mut lines = vec![voice.say("shelf-heading", &args)];
    if shelf.is_spent {
        lines.push(voice.say("shelf-spent", &Args::new()));
        return lines;
    }
    let day = |day: LocalDate| Args::new().day("day", day, today);
    match (flush.initiated_on, &shelf.before) {
        (Some(since), _) if desk.house.crops.is_bagged(&batch.crop) => {
            lines.push(voice.say("shelf-opened", &day(since)))
        }
        (Some(since), _) => lines.push(voice.say("shelf-soaked", &day(since))),
        (None, Some(_)) => lines.push(voice.say("shelf-resting", &day(shelf.waits_since()))),
        (None, None) if desk.house.crops.is_bagged(&batch.crop) => {
            lines.push(voice.say("shelf-to-open", &day(batch.started_on)));
        }
        (None, None) => lines.push(voice.say("shelf-to-soak", &day(batch.started_on))),
    }
    if let Some(pins_on) = flush.pins_on {
        lines.push(voice.say("shelf-pins", &day(pins_on)));
    }
    if shelf.picked().is_positive() {
        lines.push(voice.say("shelf-picked", &Args::new().weight("weight", shelf.picked())));
    }
    if flush.units_lost > 0 {
        let lost = shelf::units(desk.house, voice, &batch.crop, flush.units_lost);
        lines.push(voice.say("shelf-lost", &Args::new().text("units", lost)));
    }
    lines
}

/// What can be done to it, rows of buttons. "Today" is the day of the press, so no day is kept in them.
fn actions(house: &House, voice: &Voice, shelf: &Shelf) -> Vec<Vec<Button>> {
    let batch = shelf.batch.id;
    let label = |text_key: &'static str| voice.plain(text_key, &Args::new());
    let mut rows = Vec::new();
    if shelf.is_fruiting() {
        let mut row = vec![button(label(key("button-pick")), Ask::PickWeight { batch })];
        if shelf.flush.pins_on.is_none() {
            let ask = Ask::Pins { crop: None, batch: Some(batch), day: None };
            row.insert(0, button(label(key("button-pins")), ask));
        }
        rows.push(row);
        rows.push(vec![button(label(key("button-last-pick")), Ask::LastPick { batch })]);
    } else {
        let text_key = if house.crops.is_bagged(&shelf.batch.crop) {
            key("button-opened-today")
        } else {
            key("button-soaked-today")
        };
        let ask = Ask::Initiate { crop: None, batch: Some(batch), units: None, day: None };
        rows.push(vec![button(label(text_key), ask)]);
    }
    rows.push(vec![
        button(label(key("button-lost")), Ask::LostHowMany { batch }),
        button(label(key("button-spent")), Ask::Spent { batch, sure: false }),
    ]);
    let correct = button(label(key("button-correct-batch")), Ask::Correct { batch });
    rows.push(vec![warmth_button(label(key("button-warmth")), batch), correct]);
    rows
}
