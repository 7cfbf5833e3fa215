//! A batch as it turned out to be: another number, weight, room or day than was written down, and a part of it as a batch of
//! its own. Rule: a number changes by an entry of the difference, so that the record always sums to what stands on the shelf;
//! picks stay with the batch they were picked from.

use super::Farm;
use super::batches::{self, Shelf};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::growing::{self, Batch, Event, EventKind, Flush};
use serde::{Deserialize, Serialize};

/// Least and most dry substrate of one block or bag. Ours: a block of a tenth of a pound or of a hundred is a slip.
pub const DRY_LEAST: Grams = Grams::new(50);
pub const DRY_MOST: Grams = Grams::new(50_000);
/// Longest name of a room, characters.
pub const ROOM_LENGTH_MAX: usize = 30;
/// The most blocks or bags of one batch. Ours.
const UNITS_MOST: i64 = 10_000;

/// What is put right.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// Blocks or bags at the start, lost ones included.
    Units(i64),
    DryPerUnit(Grams),
    /// It stands there, or was moved there.
    Room(String),
    /// The day it came.
    StartedOn(LocalDate),
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// There is no such batch, or it is spent.
    Unknown,
    /// That cannot be, beside what is known of the batch.
    Refused,
    /// Done; this takes it back.
    Done(Change),
}

/// Puts one thing about a batch right.
///
/// # Errors
/// Whatever the store fails with.
pub async fn change(farm: &mut Farm<'_>, person: &Person, (batch, change): (Id, Change)) -> store::Result<Outcome> {
    let Some(shelf) = batches::find(farm, batch).await?.filter(|shelf| !shelf.is_spent) else {
        return Ok(Outcome::Unknown);
    };
    let before = shelf.batch.clone();
    let mut after = before.clone();
    let undo = match change {
        Change::Units(units) => {
            after.units = units;
            Change::Units(before.units)
        }
        Change::DryPerUnit(grams) => {
            after.dry_per_unit = grams;
            Change::DryPerUnit(before.dry_per_unit)
        }
        Change::Room(room) => {
            after.room = room.split_whitespace().collect::<Vec<_>>().join(" ");
            Change::Room(before.room.clone())
        }
        Change::StartedOn(day) => {
            after.started_on = day;
            Change::StartedOn(before.started_on)
        }
    };
    if !is_possible(farm, &shelf, &after).await? {
        return Ok(Outcome::Refused);
    }
    growing::put_batch(farm.tx, &after).await?;
    if after.units != before.units {
        let units = after.units - before.units;
        let event = Event { units, flush_id: None, ..shelf.event(EventKind::Received, after.started_on, person.id) };
        growing::record(farm.tx, &event, farm.now).await?;
    }
    Ok(Outcome::Done(undo))
}

/// Whether the batch can be so, with what was lost of it and the first day on which something was done to it.
async fn is_possible(farm: &mut Farm<'_>, shelf: &Shelf, after: &Batch) -> store::Result<bool> {
    let flushes = growing::all_flushes(farm.tx).await?.into_iter().filter(|flush| flush.batch_id == after.id);
    let first = flushes.filter_map(|flush| flush.initiated_on).min();
    let letters = after.room.chars().count();
    Ok((1..=UNITS_MOST).contains(&after.units)
        && after.units > shelf.flush.units_lost
        && (DRY_LEAST..=DRY_MOST).contains(&after.dry_per_unit)
        && (1..=ROOM_LENGTH_MAX).contains(&letters)
        && after.started_on <= first.unwrap_or(farm.today()))
}

/// Makes `units` of a batch a batch of their own, with the flush that is on and none of the picks; `None` when it has not so
/// many, or would be left with nothing.
///
/// # Errors
/// Whatever the store fails with.
pub async fn split(farm: &mut Farm<'_>, person: &Person, (batch, units): (Id, i64)) -> store::Result<Option<Id>> {
    let Some(shelf) = batches::find(farm, batch).await?.filter(|shelf| !shelf.is_spent) else { return Ok(None) };
    if !(1..shelf.units_left()).contains(&units) {
        return Ok(None);
    }
    let rest = Batch { units: shelf.batch.units - units, ..shelf.batch.clone() };
    let part = Batch { id: farm.new_id(), units, ..shelf.batch.clone() };
    growing::put_batch(farm.tx, &rest).await?;
    growing::add_batch(farm.tx, &part).await?;
    let flush = Flush {
        number: shelf.flush.number,
        initiated_on: shelf.flush.initiated_on,
        pins_on: shelf.flush.pins_on,
        ..batches::first_flush(farm, part.id)
    };
    growing::put_flush(farm.tx, &flush).await?;
    let taken = Event { units: -units, flush_id: None, ..shelf.event(EventKind::Received, rest.started_on, person.id) };
    let came = Event { batch_id: part.id, units, ..taken };
    for event in [taken, came] {
        growing::record(farm.tx, &event, farm.now).await?;
    }
    Ok(Some(part.id))
}
