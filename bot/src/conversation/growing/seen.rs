//! What was done to a batch and seen on it between two picks: soaked or opened, pins, units lost.

use super::choosing::{self, Wanted};
use super::correcting;
use super::shelf::{self, Shelf};
use super::{Ask, Waiting, button, close_question, refuse, shelves, shelves_button};
use crate::conversation::{Desk, Letter};
use crate::intent::{Waiting as Question, unclear};
use crate::phrase::{self, UNITS_MOST};
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::growing::{self, Event, EventKind, Flush};

/// Which batch a report is about, as far as it was said, and which day.
pub struct Report {
    pub crop: Option<String>,
    pub batch: Option<Id>,
    pub day: Option<LocalDate>,
}

/// A loss as it was written down.
pub struct Loss {
    pub batch: Id,
    pub units: i64,
    /// Lost in all of the flush after it.
    pub lost: i64,
    /// Today when left out.
    pub day: Option<LocalDate>,
}

/// A batch was soaked or opened. `units` is how many were named: it must be the whole batch.
///
/// # Errors
/// Whatever the store fails with.
pub async fn initiate(desk: &mut Desk<'_>, person: &Person, report: Report, units: Option<i64>) -> store::Result<()> {
    let voice = desk.voice(person);
    if units.is_some_and(|units| !(1..=UNITS_MOST).contains(&units)) {
        let html = unclear::say(desk, &voice, &phrase::Question::UnitsOutOfRange { limit: UNITS_MOST });
        return refuse(desk, person, html).await;
    }
    let day = report.day;
    let waits = |shelf: &Shelf| shelf.flush.initiated_on.is_none();
    // A number that is a whole batch, and of one batch only, tells which.
    let of_crop = |shelf: &Shelf| report.crop.as_ref().is_none_or(|crop| *crop == shelf.batch.crop);
    let there = batches::active(&mut desk.farm()).await?;
    let whole: Vec<Id> = there
        .iter()
        .filter(|shelf| waits(shelf) && of_crop(shelf) && Some(shelf.units_left()) == units)
        .map(|shelf| shelf.batch.id)
        .collect();
    let only_whole = match whole.as_slice() {
        [one] => Some(*one),
        _ => None,
    };
    let ask = |batch: Id| Ask::Initiate { crop: None, batch: Some(batch), units, day };
    let wanted = Wanted {
        crop: report.crop.as_deref(),
        batch: report.batch.or(only_whole),
        question: voice.say("which-batch", &Args::new()),
        none_fits: voice.say("none-to-begin", &Args::new()),
        fits: &waits,
        ask: &ask,
    };
    let Some(shelf) = choosing::choose(desk, person, wanted).await? else { return Ok(()) };
    let today = desk.today();
    let day = day.unwrap_or(today);
    let is_bagged = desk.house.crops.is_bagged(&shelf.batch.crop);
    if let Some(since) = shelf.flush.initiated_on {
        let text_key = if is_bagged { key("already-opened") } else { key("already-soaked") };
        let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
        return refuse(desk, person, voice.say(text_key, &args.day("day", since, today))).await;
    }
    if let Some(html) = outside_of_flush(desk, &voice, &shelf, day) {
        return refuse(desk, person, html).await;
    }
    let left = shelf.units_left();
    if units.is_some_and(|units| units != left) {
        return offer_whole(desk, person, &shelf, (day, units)).await;
    }
    let now = desk.now;
    let changed = Shelf { flush: Flush { initiated_on: Some(day), ..shelf.flush.clone() }, ..shelf };
    growing::put_flush(&mut desk.tx, &changed.flush).await?;
    let event = Event { units: left, ..changed.event(EventKind::Initiated, day, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    let done = if is_bagged { voice.say("done-opened", &Args::new()) } else { voice.say("done-soaked", &Args::new()) };
    let batch = changed.batch.id;
    shelves::changed(desk, person, (done, batch), Some(Ask::UndoInitiate { batch })).await
}

/// Why nothing can have happened to the flush on this day: it is to come, or another flush was on the shelves then.
fn outside_of_flush(desk: &Desk<'_>, voice: &Voice, shelf: &Shelf, day: LocalDate) -> Option<String> {
    let (today, since) = (desk.today(), shelf.waits_since());
    let args = Args::new().text("batch", shelf::name(desk.house, voice, shelf)).day("day", day, today);
    if day > today {
        return Some(voice.say("day-to-come", &args));
    }
    let text_key = if shelf.before.is_some() { key("before-last-pick") } else { key("before-received") };
    (day < since).then(|| voice.say(text_key, &args.day("since", since, today)))
}

/// Somebody looked and saw nothing. It changes no belief that a day without pins does not change by itself, so it is
/// answered with how the batch stands.
///
/// # Errors
/// Whatever the store fails with.
pub async fn nothing_yet(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, batch): (Option<String>, Option<Id>),
) -> store::Result<()> {
    let voice = desk.voice(person);
    let said = voice.say("growing-nothing-yet", &Args::new());
    let wanted = Wanted {
        crop: crop.as_deref(),
        batch,
        question: said.clone(),
        none_fits: said.clone(),
        fits: &|shelf: &Shelf| shelf.flush.closed_on.is_none(),
        ask: &|batch| Ask::Show { batch },
    };
    match choosing::choose(desk, person, wanted).await? {
        Some(shelf) => shelves::changed(desk, person, (said, shelf.batch.id), None).await,
        None => Ok(()),
    }
}

async fn offer_whole(
    desk: &mut Desk<'_>,
    person: &Person,
    shelf: &Shelf,
    (day, units): (LocalDate, Option<i64>),
) -> store::Result<()> {
    let voice = desk.voice(person);
    let crop = shelf.batch.crop.as_str();
    let args = Args::new()
        .text("batch", shelf::name(desk.house, &voice, shelf))
        .text("units", shelf::units(desk.house, &voice, crop, shelf.units_left()));
    let (question, label) = if desk.house.crops.is_bagged(crop) {
        (voice.say("whole-batch-opened", &args), key("button-whole-opened"))
    } else {
        (voice.say("whole-batch-soaked", &args), key("button-whole-soaked"))
    };
    let label =
        voice.plain(label, &Args::new().text("units", shelf::units(desk.house, &voice, crop, shelf.units_left())));
    let ask = Ask::Initiate { crop: None, batch: Some(shelf.batch.id), units: None, day: Some(day) };
    let part = correcting::part_of(shelf, units).map(|units| {
        let args = Args::new().text("units", shelf::units(desk.house, &voice, crop, units));
        let ask = Ask::InitiatePart { batch: shelf.batch.id, units, day };
        button(voice.plain("button-only-these", &args), ask)
    });
    let letter = Letter::new(question)
        .row(part)
        .row([button(label, ask), button(voice.plain("button-no", &Args::new()), Ask::Nothing)])
        .row([shelves_button(&voice)]);
    desk.answer(person, letter).await
}

/// Takes a soaking or opening back while nothing has come of it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo_initiate(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let begun_on = shelf
        .flush
        .initiated_on
        .filter(|_| shelf.flush.pins_on.is_none() && !shelf.picked().is_positive() && shelf.flush.closed_on.is_none());
    let Some(day) = begun_on else { return refuse(desk, person, voice.say("undo-late", &args)).await };
    let now = desk.now;
    let event = Event { units: -shelf.units_left(), ..shelf.event(EventKind::Initiated, day, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    growing::put_flush(&mut desk.tx, &Flush { initiated_on: None, ..shelf.flush }).await?;
    shelves::changed(desk, person, (voice.say("done-undone", &Args::new()), batch), None).await
}

/// Pins were seen.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pins(desk: &mut Desk<'_>, person: &Person, report: Report) -> store::Result<()> {
    let voice = desk.voice(person);
    let day = report.day;
    let ask = |batch: Id| Ask::Pins { crop: None, batch: Some(batch), day };
    let wanted = Wanted {
        crop: report.crop.as_deref(),
        batch: report.batch,
        question: voice.say("which-batch", &Args::new()),
        none_fits: voice.say("none-for-pins", &Args::new()),
        fits: &|shelf| shelf.is_fruiting() && shelf.flush.pins_on.is_none(),
        ask: &ask,
    };
    let Some(shelf) = choosing::choose(desk, person, wanted).await? else { return Ok(()) };
    let today = desk.today();
    let day = day.unwrap_or(today);
    let is_bagged = desk.house.crops.is_bagged(&shelf.batch.crop);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let refusal = match (shelf.flush.initiated_on, shelf.flush.pins_on) {
        (None, _) if is_bagged => Some(voice.say("not-opened", &args)),
        (None, _) => Some(voice.say("not-soaked", &args)),
        (_, Some(seen_on)) => Some(voice.say("already-pins", &args.day("day", seen_on, today))),
        _ if day > today => Some(voice.say("day-to-come", &args.day("day", day, today))),
        (Some(since), _) if day < since => {
            let args = args.day("day", day, today).day("since", since, today);
            Some(if is_bagged { voice.say("before-opened", &args) } else { voice.say("before-soaked", &args) })
        }
        _ => None,
    };
    if let Some(html) = refusal {
        return refuse(desk, person, html).await;
    }
    let now = desk.now;
    growing::put_flush(&mut desk.tx, &Flush { pins_on: Some(day), ..shelf.flush.clone() }).await?;
    growing::record(&mut desk.tx, &shelf.event(EventKind::Pins, day, person.id), now).await?;
    let batch = shelf.batch.id;
    let undo = Some(Ask::UndoPins { batch });
    shelves::changed(desk, person, (voice.say("done-pins", &Args::new()), batch), undo).await
}

/// The pins were not there after all; only until something is picked.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo_pins(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let seen_on = shelf.flush.pins_on.filter(|_| !shelf.picked().is_positive() && shelf.flush.closed_on.is_none());
    let Some(day) = seen_on else {
        let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
        return refuse(desk, person, voice.say("undo-late", &args)).await;
    };
    let now = desk.now;
    let event = Event { units: -1, ..shelf.event(EventKind::Pins, day, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    growing::put_flush(&mut desk.tx, &Flush { pins_on: None, ..shelf.flush }).await?;
    shelves::changed(desk, person, (voice.say("done-undone", &Args::new()), batch), None).await
}

/// Asks how many were lost.
///
/// # Errors
/// Whatever the store fails with.
pub async fn lost_how_many(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Growing(Waiting::Lost { batch })).await?;
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let offered = [1, 2, 3, 5].into_iter().filter(|units| *units <= shelf.units_left()).map(|units| {
        let ask = Ask::Lost { crop: None, batch: Some(batch), units, day: None };
        button(shelf::units(desk.house, &voice, &shelf.batch.crop, units), ask)
    });
    let letter = Letter::new(voice.say("lost-question", &args)).row(offered);
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// Units were lost.
///
/// # Errors
/// Whatever the store fails with.
pub async fn lost(desk: &mut Desk<'_>, person: &Person, report: Report, units: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    if !(1..=UNITS_MOST).contains(&units) {
        let html = unclear::say(desk, &voice, &phrase::Question::UnitsOutOfRange { limit: UNITS_MOST });
        return refuse(desk, person, html).await;
    }
    let day = report.day;
    let ask = |batch: Id| Ask::Lost { crop: None, batch: Some(batch), units, day };
    let wanted = Wanted {
        crop: report.crop.as_deref(),
        batch: report.batch,
        question: voice.say("which-batch", &Args::new()),
        none_fits: voice.say("none-so-many", &Args::new()),
        fits: &|shelf| shelf.units_left() >= units,
        ask: &ask,
    };
    let Some(shelf) = choosing::choose(desk, person, wanted).await? else { return Ok(()) };
    if units > shelf.units_left() {
        let left = shelf::units(desk.house, &voice, &shelf.batch.crop, shelf.units_left());
        return refuse(desk, person, voice.say("lost-too-many", &Args::new().text("units", left))).await;
    }
    let (now, today) = (desk.now, desk.today());
    let day = day.unwrap_or(today);
    if let Some(html) = outside_of_flush(desk, &voice, &shelf, day) {
        return refuse(desk, person, html).await;
    }
    close_question(desk, person).await?;
    let lost = shelf.flush.units_lost + units;
    growing::put_flush(&mut desk.tx, &Flush { units_lost: lost, ..shelf.flush.clone() }).await?;
    let event = Event { units, ..shelf.event(EventKind::Lost, day, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    let batch = shelf.batch.id;
    let args = Args::new().text("units", shelf::units(desk.house, &voice, &shelf.batch.crop, units));
    let done = voice.say("done-lost", &args.day("day", day, today));
    shelves::changed(desk, person, (done, batch), Some(Ask::UndoLost { batch, units, lost, day: Some(day) })).await
}

/// Takes a loss back, if it was the latest.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo_lost(desk: &mut Desk<'_>, person: &Person, loss: Loss) -> store::Result<()> {
    let Loss { batch, units, lost, day } = loss;
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    if shelf.flush.units_lost != lost || units > lost {
        let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
        return refuse(desk, person, voice.say("undo-late", &args)).await;
    }
    let (now, day) = (desk.now, day.unwrap_or(desk.today()));
    growing::put_flush(&mut desk.tx, &Flush { units_lost: lost - units, ..shelf.flush.clone() }).await?;
    let event = Event { units: -units, ..shelf.event(EventKind::Lost, day, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    shelves::changed(desk, person, (voice.say("done-undone", &Args::new()), batch), None).await
}
