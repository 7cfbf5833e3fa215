//! A pick: from the shelf into the cold room, one lot a line. Rule: the growing record and the cold room always balance; a pick
//! is taken back by an entry of the opposite weight on both sides.

use super::Farm;
use super::batches::Shelf;
use super::surplus::warmth;
use crate::clock::{LocalDate, UtcSeconds, instant_at};
use crate::crop::Crop;
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, Lot, MoveKind, Movement};
use crate::store::growing::{self, Event, EventKind};
use crate::surplus::keeping;

/// Enters a pick of a batch; its lot, as it keeps in the cold room as warm as it was said to be.
///
/// # Errors
/// Whatever the store fails with.
pub async fn enter(
    farm: &mut Farm<'_>,
    person: &Person,
    (shelf, crop): (&Shelf, &Crop),
    (grams, day): (Grams, LocalDate),
) -> store::Result<Lot> {
    let event = Event { grams, ..shelf.event(EventKind::Picked, day, person.id) };
    growing::record(farm.tx, &event, farm.now).await?;
    store_lot(farm, new_lot(farm, crop, (Some(shelf.flush.id), grams), day)).await
}

/// Enters a weight that lies in the cold room and was picked from nobody knows which batch.
///
/// # Errors
/// Whatever the store fails with.
pub async fn enter_unknown(farm: &mut Farm<'_>, crop: &Crop, (grams, day): (Grams, LocalDate)) -> store::Result<Lot> {
    store_lot(farm, new_lot(farm, crop, (None, grams), day)).await
}

async fn store_lot(farm: &mut Farm<'_>, mut lot: Lot) -> store::Result<Lot> {
    cold_room::add_lot(farm.tx, &lot, farm.now).await?;
    let aged = warmth::age(farm).await?;
    if let Some((_, keeps_until)) = aged.iter().find(|(aged, _)| aged.lot == lot.id) {
        lot.keeps_until = *keeps_until;
    }
    Ok(lot)
}

/// The lot of a pick: ready on the day on which its hours in the cold room are over. A pick of an earlier day lay there
/// since the end of that day at the latest. Its last day is the one of a cold room that is as cold as it should be.
fn new_lot(farm: &Farm<'_>, crop: &Crop, (flush_id, grams): (Option<Id>, Grams), day: LocalDate) -> Lot {
    let zone = farm.zone();
    let end_of_day = instant_at(day, chrono::NaiveTime::MIN, zone).plus_minutes(24 * 60 - 1);
    let cooled_from: UtcSeconds = farm.now.min(end_of_day);
    let base_days = u16::try_from(crop.storage_days).unwrap_or(u16::MAX);
    Lot {
        id: farm.new_id(),
        crop: crop.key.as_str().to_owned(),
        flush_id,
        picked_on: day,
        ready_on: cooled_from.plus_minutes(i64::from(crop.cooling_hours) * 60).local_date(zone),
        keeps_until: keeping::keeps_until(day, base_days, &[]),
        picked: grams,
        left: grams,
    }
}

/// Takes picks back while nothing of them has left the cold room: each lot with its batch. `None`, and nothing changes,
/// where something has.
///
/// # Errors
/// Whatever the store fails with.
pub async fn take_back(farm: &mut Farm<'_>, person: &Person, lot_ids: &[Id]) -> store::Result<Option<Vec<(Lot, Id)>>> {
    let flushes = growing::all_flushes(farm.tx).await?;
    let mut lots = Vec::new();
    for id in lot_ids {
        let lot = cold_room::lot_by_id(farm.tx, *id).await?.filter(|lot| lot.left == lot.picked);
        let flush = lot.as_ref().and_then(|lot| flushes.iter().find(|flush| Some(flush.id) == lot.flush_id));
        let (Some(lot), Some(flush)) = (lot, flush) else { return Ok(None) };
        lots.push((lot, flush.batch_id));
    }
    for (lot, batch_id) in &lots {
        lessen(farm, person, (lot, Some(*batch_id)), lot.left).await?;
    }
    Ok(Some(lots))
}

/// So much of a lot was never picked.
pub(super) async fn lessen(
    farm: &mut Farm<'_>,
    person: &Person,
    (lot, batch_id): (&Lot, Option<Id>),
    grams: Grams,
) -> store::Result<()> {
    let movement = Movement { kind: MoveKind::Corrected, subject: None, person_id: Some(person.id), now: farm.now };
    cold_room::take_from_lot(farm.tx, lot.id, grams, &movement).await?;
    let Some(batch_id) = batch_id else { return Ok(()) };
    let event = Event {
        batch_id,
        flush_id: lot.flush_id,
        kind: EventKind::Picked,
        on_day: lot.picked_on,
        units: 0,
        grams: -grams,
        person_id: Some(person.id),
    };
    growing::record(farm.tx, &event, farm.now).await?;
    Ok(())
}
