//! The end of a flush and of a batch. A flush's next row is made when it closes; after the crop's last one the batch is
//! spent.

use super::shelf::{self, Shelf};
use super::{Ask, button, choosing, refuse, shelves};
use crate::conversation::{Desk, Letter};
use crate::wording::{Args, key};
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::growing::{self, Event, EventKind, Flush};

/// The flush is over of the batch that was named, or that fruits; several are to choose from.
///
/// # Errors
/// Whatever the store fails with.
pub async fn flush_over(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, batch): (Option<String>, Option<Id>),
) -> store::Result<()> {
    let voice = desk.voice(person);
    let wanted = choosing::Wanted {
        crop: crop.as_deref(),
        batch,
        question: voice.say("which-batch", &Args::new()),
        none_fits: voice.say("none-to-pick", &Args::new()),
        fits: &Shelf::is_fruiting,
        ask: &|batch| Ask::LastPick { batch },
    };
    match choosing::choose(desk, person, wanted).await? {
        Some(shelf) => last_pick(desk, person, shelf.batch.id).await,
        None => Ok(()),
    }
}

/// That was the last pick of the flush.
///
/// # Errors
/// Whatever the store fails with.
pub async fn last_pick(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    if !shelf.is_fruiting() {
        let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
        let text_key = match (&shelf.before, desk.house.crops.is_bagged(&shelf.batch.crop)) {
            (Some(_), _) => key("already-resting"),
            (None, true) => key("not-opened"),
            (None, false) => key("not-soaked"),
        };
        return refuse(desk, person, voice.say(text_key, &args)).await;
    }
    let (now, today) = (desk.now, desk.today());
    let closed = Flush { closed_on: Some(today), ..shelf.flush.clone() };
    growing::put_flush(&mut desk.tx, &closed).await?;
    let event = Event { units: shelf.units_left(), ..shelf.event(EventKind::Rested, today, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    let is_last = closed.number >= batches::flushes_of(&shelf.batch.crop, &desk.house.crops) || shelf.units_left() < 1;
    let args = Args::new().text("number", closed.number.to_string()).weight("weight", shelf.picked());
    let done = if is_last {
        close(desk, person, &shelf).await?;
        voice.say("done-last-flush", &args)
    } else {
        let next = batches::next_flush(&desk.farm(), &closed);
        growing::put_flush(&mut desk.tx, &next).await?;
        voice.say("done-last-pick", &args)
    };
    shelves::changed(desk, person, (done, batch), Some(Ask::UndoLastPick { flush: closed.id })).await
}

/// The flush goes on after all: taken back while the next one has not begun.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo_last_pick(desk: &mut Desk<'_>, person: &Person, flush_id: Id) -> store::Result<()> {
    let voice = desk.voice(person);
    let shelves_there = batches::all(&mut desk.farm()).await?;
    let next_of = |shelf: &&Shelf| shelf.before.as_ref().is_some_and(|before| before.id == flush_id);
    let waits = |shelf: &&Shelf| !shelf.is_spent && shelf.flush.initiated_on.is_none();
    let ended = |shelf: &&Shelf| shelf.is_spent && shelf.flush.id == flush_id && shelf.flush.closed_on.is_some();
    let resting = shelves_there.iter().find(next_of).filter(waits);
    let found = resting.or_else(|| shelves_there.iter().find(ended));
    let Some(shelf) = found else {
        return refuse(desk, person, voice.say("flush-undo-late", &Args::new())).await;
    };
    let (now, today) = (desk.now, desk.today());
    let batch = shelf.batch.id;
    let closed = match &shelf.before {
        Some(before) if before.id == flush_id => {
            if !growing::remove_flush(&mut desk.tx, shelf.flush.id).await? {
                return refuse(desk, person, voice.say("flush-undo-late", &Args::new())).await;
            }
            // What was lost while it rested stays lost.
            Flush { units_lost: shelf.flush.units_lost, ..before.clone() }
        }
        _ => {
            growing::reopen_batch(&mut desk.tx, batch).await?;
            let event = Event { units: -shelf.units_left(), ..shelf.event(EventKind::Spent, today, person.id) };
            growing::record(&mut desk.tx, &event, now).await?;
            shelf.flush.clone()
        }
    };
    let on_day = closed.closed_on.unwrap_or(today);
    let entry = Event {
        flush_id: Some(flush_id),
        units: -shelf.units_left(),
        ..shelf.event(EventKind::Rested, on_day, person.id)
    };
    growing::record(&mut desk.tx, &entry, now).await?;
    growing::put_flush(&mut desk.tx, &Flush { closed_on: None, ..closed }).await?;
    shelves::changed(desk, person, (voice.say("done-undone", &Args::new()), batch), None).await
}

/// Asks before a batch leaves the shelves.
///
/// # Errors
/// Whatever the store fails with.
pub async fn spent_question(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let letter = Letter::new(voice.say("spent-question", &args)).row([
        button(voice.plain("button-yes", &Args::new()), Ask::Spent { batch, sure: true }),
        button(voice.plain("button-no", &Args::new()), Ask::Show { batch }),
    ]);
    desk.answer(person, letter).await
}

/// The batch is spent.
///
/// # Errors
/// Whatever the store fails with.
pub async fn spent(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let today = desk.today();
    if shelf.is_fruiting() {
        let closed = Flush { closed_on: Some(today), ..shelf.flush.clone() };
        growing::put_flush(&mut desk.tx, &closed).await?;
    }
    close(desk, person, &shelf).await?;
    shelves::changed(desk, person, (voice.say("done-spent", &Args::new()), batch), None).await
}

async fn close(desk: &mut Desk<'_>, person: &Person, shelf: &Shelf) -> store::Result<()> {
    let (now, today) = (desk.now, desk.today());
    let event = Event { units: shelf.units_left(), ..shelf.event(EventKind::Spent, today, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    growing::close_batch(&mut desk.tx, shelf.batch.id, today).await
}
