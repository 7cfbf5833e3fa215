//! A new batch: crop, how many, how much dry substrate in each, which room. It is received on the day it is told.

use super::shelf::{self, Shelf};
use super::{Ask, Waiting, button, choosing, close_question, refuse, shelves};
use crate::conversation::{Desk, Letter};
use crate::intent::{Waiting as Question, unclear};
use crate::phrase::{self, UNITS_MOST};
use crate::wording::{Args, key};
use scheduler::farm::batch_changes::{DRY_LEAST, DRY_MOST, ROOM_LENGTH_MAX};
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::growing::{self, Batch, Event, EventKind};

/// Numbers offered on buttons.
const UNITS_OFFERED: [i64; 4] = [10, 20, 40, 80];

/// What is said of a new batch.
pub struct NewBatch {
    pub crop: String,
    pub units: i64,
    pub dry_per_unit: Grams,
    pub room: String,
}

/// Asks for the crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn which_crop(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let mut letter = Letter::new(voice.say("new-batch-crop", &Args::new()));
    for crop in house.crops.grown() {
        let crop = crop.key.as_str().to_owned();
        letter = letter.row([button(house.crop_name(&crop, &voice), Ask::NewBatchOf { crop })]);
    }
    desk.answer(person, letter).await
}

/// Asks how many blocks or bags.
///
/// # Errors
/// Whatever the store fails with.
pub async fn how_many(desk: &mut Desk<'_>, person: &Person, crop: String) -> store::Result<()> {
    let voice = desk.voice(person);
    if let Some(html) = fault(desk, person, &crop, None) {
        return refuse(desk, person, html).await;
    }
    desk.ask(person, &Question::Growing(Waiting::Units { crop: crop.clone() })).await?;
    let text_key = if desk.house.crops.is_bagged(&crop) { key("new-batch-bags") } else { key("new-batch-blocks") };
    let offered = UNITS_OFFERED.map(|units| {
        button(shelf::units(desk.house, &voice, &crop, units), Ask::NewBatchUnits { crop: crop.clone(), units })
    });
    let [a, b, c, d] = offered;
    let letter = Letter::new(voice.say(text_key, &Args::new())).row([a, b]).row([c, d]);
    desk.answer(person, letter).await
}

/// Asks for the dry weight of one.
///
/// # Errors
/// Whatever the store fails with.
pub async fn how_heavy(desk: &mut Desk<'_>, person: &Person, crop: String, units: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    if let Some(html) = fault(desk, person, &crop, Some(units)) {
        return refuse(desk, person, html).await;
    }
    let args = Args::new().text("units", shelf::units(desk.house, &voice, &crop, units));
    desk.ask(person, &Question::Growing(Waiting::DryWeight { crop, units })).await?;
    desk.answer(person, Letter::new(voice.say("new-batch-dry", &args))).await
}

/// Asks for the room.
///
/// # Errors
/// Whatever the store fails with.
pub async fn which_room(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, units): (String, i64),
    dry_per_unit: Grams,
) -> store::Result<()> {
    let voice = desk.voice(person);
    if !(DRY_LEAST..=DRY_MOST).contains(&dry_per_unit) {
        let args = Args::new().weight("weight", dry_per_unit).weight("least", DRY_LEAST).weight("most", DRY_MOST);
        return desk.answer(person, Letter::new(voice.say("new-batch-dry-range", &args))).await;
    }
    let waiting = Waiting::Room { crop: crop.clone(), units, dry_per_unit };
    desk.ask(person, &Question::Growing(waiting)).await?;
    let mut rooms: Vec<String> =
        batches::all(&mut desk.farm()).await?.into_iter().map(|shelf| shelf.batch.room).collect();
    rooms.sort_unstable();
    rooms.dedup();
    let mut letter = Letter::new(voice.say("new-batch-room", &Args::new().weight("dry", dry_per_unit)));
    for room in rooms.into_iter().take(10) {
        let ask = Ask::Start { crop: crop.clone(), units, dry_per_unit, room: room.clone() };
        letter = letter.row([button(room, ask)]);
    }
    desk.answer(person, letter).await
}

/// Writes the batch down.
///
/// # Errors
/// Whatever the store fails with.
pub async fn start(desk: &mut Desk<'_>, person: &Person, new: NewBatch) -> store::Result<()> {
    let voice = desk.voice(person);
    let room = new.room.split_whitespace().collect::<Vec<_>>().join(" ");
    let refusal = fault(desk, person, &new.crop, Some(new.units)).or_else(|| {
        if !(DRY_LEAST..=DRY_MOST).contains(&new.dry_per_unit) {
            let args =
                Args::new().weight("weight", new.dry_per_unit).weight("least", DRY_LEAST).weight("most", DRY_MOST);
            return Some(voice.say("new-batch-dry-range", &args));
        }
        let is_name = !room.is_empty() && room.chars().count() <= ROOM_LENGTH_MAX;
        (!is_name).then(|| voice.say("new-batch-room-name", &Args::new().text("most", ROOM_LENGTH_MAX.to_string())))
    });
    if let Some(html) = refusal {
        return refuse(desk, person, html).await;
    }
    close_question(desk, person).await?;
    let (now, today) = (desk.now, desk.today());
    let batch = Batch {
        id: desk.new_id(),
        crop: new.crop,
        room,
        units: new.units,
        dry_per_unit: new.dry_per_unit,
        started_on: today,
    };
    let flush = batches::first_flush(&desk.farm(), batch.id);
    growing::add_batch(&mut desk.tx, &batch).await?;
    growing::put_flush(&mut desk.tx, &flush).await?;
    let id = batch.id;
    let dry = batch.dry_per_unit;
    let number = growing::all_batches(&mut desk.tx).await?.len();
    let shelf = Shelf { number, batch, flush, before: None, is_spent: false };
    let event = Event { units: new.units, ..shelf.event(EventKind::Received, today, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    let done = voice.say("batch-started", &Args::new().weight("dry", dry));
    shelves::changed(desk, person, (done, id), Some(Ask::UndoStart { batch: id })).await
}

/// Takes a batch back to which nothing has happened yet: it is closed, and the record says that nothing came.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    if shelf.flush.number > 1 || shelf.flush.initiated_on.is_some() || shelf.flush.units_lost > 0 {
        return refuse(desk, person, voice.say("undo-late", &args)).await;
    }
    let (now, today) = (desk.now, desk.today());
    let units = -shelf.batch.units;
    let event = Event { units, ..shelf.event(EventKind::Received, shelf.batch.started_on, person.id) };
    growing::record(&mut desk.tx, &event, now).await?;
    growing::close_batch(&mut desk.tx, batch, today).await?;
    refuse(desk, person, voice.say("batch-undone", &args)).await
}

fn fault(desk: &Desk<'_>, person: &Person, crop: &str, units: Option<i64>) -> Option<String> {
    let voice = desk.voice(person);
    if desk.house.crops.get(crop).is_none() {
        return Some(unclear::say(desk, &voice, &phrase::Question::UnknownCrop { word: crop.to_owned() }));
    }
    let is_possible = units.is_none_or(|units| (1..=UNITS_MOST).contains(&units));
    (!is_possible).then(|| unclear::say(desk, &voice, &phrase::Question::UnitsOutOfRange { limit: UNITS_MOST }))
}
