//! The batches on the shelves as they stand now: each with the flush that is on, or comes next.

use super::{Crops, Farm};
use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::{FlushFacts, Start};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::growing::{self, Batch, Event, EventKind, Flush};

/// Flushes of a crop of which nothing is believed.
const FLUSHES_UNKNOWN: i64 = 4;

/// A batch with the flush that is on, or comes next.
#[derive(Clone, Debug)]
pub struct Shelf {
    /// What people call the batch by: its place among all batches ever, from 1.
    pub number: usize,
    pub batch: Batch,
    pub flush: Flush,
    /// The flush before, closed.
    pub before: Option<Flush>,
    pub is_spent: bool,
}

impl Shelf {
    /// Blocks or bags still there.
    pub fn units_left(&self) -> i64 {
        self.batch.units - self.flush.units_lost
    }

    /// Soaked or opened, and not over.
    pub fn is_fruiting(&self) -> bool {
        self.flush.initiated_on.is_some() && self.flush.closed_on.is_none()
    }

    /// The day since which it waits: received, or the last pick of the flush before.
    pub fn waits_since(&self) -> LocalDate {
        self.before.as_ref().and_then(Flush::rests_since).unwrap_or(self.batch.started_on)
    }

    /// Everything picked of the flush.
    pub fn picked(&self) -> Grams {
        self.flush.picked.iter().map(|(_, grams)| *grams).sum()
    }

    /// The flush as the forecast's rules know it.
    pub fn facts(&self, crop: CropKey) -> FlushFacts {
        let start = match (self.flush.initiated_on, &self.before) {
            (Some(day), _) => Start::Begun(day),
            (None, Some(before)) => before.rests_since().map_or(Start::Unknown, Start::RestingSince),
            (None, None) => Start::Unknown,
        };
        FlushFacts {
            id: self.flush.id,
            batch: self.batch.id,
            crop,
            number: u8::try_from(self.flush.number).unwrap_or(u8::MAX),
            // Rooms have names only; the room matters to a forecast over several flushes, not to one pick.
            room: Id::new(0),
            units: u32::try_from(self.batch.units).unwrap_or(u32::MAX),
            lost_units: u32::try_from(self.flush.units_lost).unwrap_or(0),
            dry_grams_per_unit: self.batch.dry_per_unit,
            start,
            pins_seen_on: self.flush.pins_on,
            picked: self.flush.picked.clone(),
            closed: self.flush.closed_on.is_some(),
            room_temperature_c: None,
        }
    }

    /// An entry of the record about this batch; about its flush once that has begun.
    pub fn event(&self, kind: EventKind, on_day: LocalDate, person_id: Id) -> Event {
        Event {
            batch_id: self.batch.id,
            flush_id: self.flush.initiated_on.map(|_| self.flush.id),
            kind,
            on_day,
            units: 0,
            grams: Grams::ZERO,
            person_id: Some(person_id),
        }
    }
}

/// Every batch, spent ones too, oldest first.
///
/// # Errors
/// Whatever the store fails with.
pub async fn all(farm: &mut Farm<'_>) -> store::Result<Vec<Shelf>> {
    let batches = growing::all_batches(farm.tx).await?;
    let spent = growing::spent_batches(farm.tx).await?;
    let flushes = growing::all_flushes(farm.tx).await?;
    let shelves = batches.into_iter().enumerate().map(|(place, batch)| {
        let mut own: Vec<&Flush> = flushes.iter().filter(|flush| flush.batch_id == batch.id).collect();
        own.sort_by_key(|flush| flush.number);
        let is_spent = spent.contains(&batch.id);
        let last = own.last().copied().cloned();
        let (flush, before) = match last {
            // The next one is stored with the first thing said of it.
            Some(last) if last.closed_on.is_some() && !is_spent => (next_flush(farm, &last), Some(last)),
            Some(last) => (last, own.iter().rev().nth(1).copied().cloned()),
            None => (first_flush(farm, batch.id), None),
        };
        Shelf { number: place + 1, batch, flush, before, is_spent }
    });
    Ok(shelves.collect())
}

/// Those that are not spent.
///
/// # Errors
/// Whatever the store fails with.
pub async fn active(farm: &mut Farm<'_>) -> store::Result<Vec<Shelf>> {
    Ok(all(farm).await?.into_iter().filter(|shelf| !shelf.is_spent).collect())
}

/// One batch, spent or not.
///
/// # Errors
/// Whatever the store fails with.
pub async fn find(farm: &mut Farm<'_>, batch: Id) -> store::Result<Option<Shelf>> {
    Ok(all(farm).await?.into_iter().find(|shelf| shelf.batch.id == batch))
}

/// The batch that people call by this number.
///
/// # Errors
/// Whatever the store fails with.
pub async fn called(farm: &mut Farm<'_>, number: usize) -> store::Result<Option<Shelf>> {
    Ok(all(farm).await?.into_iter().find(|shelf| shelf.number == number))
}

/// The first flush of a batch, not begun.
pub fn first_flush(farm: &Farm<'_>, batch_id: Id) -> Flush {
    Flush {
        id: farm.new_id(),
        batch_id,
        number: 1,
        initiated_on: None,
        pins_on: None,
        units_lost: 0,
        closed_on: None,
        picked: Vec::new(),
    }
}

/// The flush after this one, not begun.
pub fn next_flush(farm: &Farm<'_>, last: &Flush) -> Flush {
    Flush { number: last.number + 1, units_lost: last.units_lost, ..first_flush(farm, last.batch_id) }
}

/// How many flushes a crop gives before its units are spent.
pub fn flushes_of(crop: &str, crops: &Crops) -> i64 {
    let known = crops.priors().iter().find(|prior| prior.crop.key.as_str() == crop);
    known.and_then(|prior| i64::try_from(prior.flushes.len()).ok()).unwrap_or(FLUSHES_UNKNOWN)
}
