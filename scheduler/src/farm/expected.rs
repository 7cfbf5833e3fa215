//! What the coming deliveries can count on: the cold room and the harvest still to come, forecast from the farm's own
//! record and from what is seen on the shelves today.

use super::{Farm, rules};
use crate::clock::{LocalDate, UtcSeconds};
use crate::crop::CropKey;
use crate::harvest::batch::{FlushFacts, Start};
use crate::harvest::forecast::{DAYS_MAX, HarvestForecast, Request, forecast, with_following_flushes};
use crate::harvest::learn::{Learned, learn};
use crate::harvest::supply::{DeliveryTime, Keeping, LotFacts, Supply, supply};
use crate::harvest::warmth::mean_temperature_c;
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::growing::{Batch, Flush};
use crate::store::rooms::{self, Temperature};
use crate::store::{cold_room, growing};
use chrono::{Datelike, NaiveTime};
use std::collections::BTreeMap;

/// Draws a forecast is made of: P10 is then known to about one part in a hundred of the spread.
const DRAWS: usize = 2000;
/// The pick of an evening is in the cold room by then. Common practice, no source.
const PICKING_ENDS_HOUR: u32 = 18;

/// What may be ready of a crop for a delivery day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expectation {
    pub day: LocalDate,
    pub crop: String,
    /// Nine weeks in ten there is at least this.
    pub p10: Grams,
    pub p50: Grams,
    pub p90: Grams,
    /// The part that lies in the cold room already.
    pub in_cold_room: Grams,
}

/// The shelves and what they taught.
pub struct Growth {
    /// Every flush on record.
    pub flushes: Vec<FlushFacts>,
    pub learned: Learned,
    /// Batches taken off the shelves, by the number the flushes know them by.
    pub spent: Vec<Id>,
}

/// What may be ready of every crop for each of these days, in order of day and crop. The draws' seed is the day's own
/// number, so a forecast made again from the same record is the same.
///
/// # Errors
/// Whatever the store fails with.
pub async fn on_days(farm: &mut Farm<'_>, days: &[LocalDate]) -> store::Result<Vec<Expectation>> {
    let supplies = supplies_on(farm, days).await?;
    let mut expected: Vec<Expectation> = supplies
        .iter()
        .map(|supply| Expectation {
            day: supply.delivery.on,
            crop: supply.crop.as_str().to_owned(),
            p10: supply.quantile(0.1),
            p50: supply.quantile(0.5),
            p90: supply.quantile(0.9),
            in_cold_room: supply.in_stock,
        })
        .collect();
    let place = |key: &str| farm.crops.iter().position(|crop| crop.key.as_str() == key);
    expected.sort_by_key(|one| (one.day, place(&one.crop)));
    Ok(expected)
}

/// The joint draws behind [`on_days`].
///
/// # Errors
/// Whatever the store fails with.
pub async fn supplies_on(farm: &mut Farm<'_>, days: &[LocalDate]) -> store::Result<Vec<Supply>> {
    let Some(last) = days.iter().max() else { return Ok(Vec::new()) };
    let growth = growth(farm).await?;
    let harvest = harvest_until(farm, &growth, *last);
    let lots = cold_room::lots(farm.tx).await?;
    let mut supplies = Vec::new();
    for &day in days {
        // What has not cooled through by then does not go out that day.
        let ready: Vec<LotFacts> = lots.iter().filter(|lot| lot.ready_on <= day).filter_map(lot_facts).collect();
        supplies.extend(supply_of_each(farm, (&harvest, &ready), &[delivery_time(farm, day)]));
    }
    Ok(supplies)
}

/// Joint draws of the harvest from today until `last`, with the flushes that will follow. The seed is the day's own
/// number.
pub fn harvest_until(farm: &Farm<'_>, growth: &Growth, last: LocalDate) -> HarvestForecast {
    let today = farm.today();
    let ahead = usize::try_from((last - today).num_days() + 2).unwrap_or(1).clamp(1, DAYS_MAX);
    // A closed flush gives nothing more, but the batch that rests after it does.
    let on_shelves = |flush: &&FlushFacts| !growth.spent.contains(&flush.batch);
    let known: Vec<FlushFacts> = growth.flushes.iter().filter(on_shelves).cloned().collect();
    let flushes = with_following_flushes(&known, &growth.learned);
    forecast(&Request {
        flushes: &flushes,
        learned: &growth.learned,
        today,
        days: ahead,
        draws: DRAWS,
        seed: seed_on(today),
    })
}

/// The seed of every draw made on this day: the day's own number.
pub fn seed_on(today: LocalDate) -> u64 {
    u64::try_from(today.num_days_from_ce()).unwrap_or_default()
}

/// When a day's pick is in the cold room.
pub fn picking_ends() -> NaiveTime {
    NaiveTime::from_hms_opt(PICKING_ENDS_HOUR, 0, 0).expect("a time of day")
}

fn supply_of_each(
    farm: &Farm<'_>,
    (harvest, lots): (&HarvestForecast, &[LotFacts]),
    deliveries: &[DeliveryTime],
) -> Vec<Supply> {
    let picking_ends = picking_ends();
    let crops = farm.crops.iter();
    crops.flat_map(|crop| supply(harvest, lots, deliveries, Keeping { crop, picking_ends })).collect()
}

/// Packing begins when the packing list comes, or failing that when the van leaves.
pub fn delivery_time(farm: &Farm<'_>, on: LocalDate) -> DeliveryTime {
    let departs_at = farm.calendar.departure(on);
    let zone = farm.zone();
    let listed_at = rules::when(&farm.rules.timetable.packing).last_before(on, departs_at, zone);
    let listed_at = listed_at.filter(|at| at.local_date(zone) == on);
    let packing: UtcSeconds = listed_at.unwrap_or(departs_at);
    DeliveryTime { on, packing: packing.local(zone) }
}

/// A stored lot in the forecast's form; `None` when its crop's key is malformed.
pub fn lot_facts(lot: &cold_room::Lot) -> Option<LotFacts> {
    let crop: CropKey = lot.crop.parse().ok()?;
    Some(LotFacts { id: lot.id, crop, left: lot.left, keeps_until: lot.keeps_until })
}

/// Every flush on record as the forecast sees it, and what the record teaches.
///
/// # Errors
/// Whatever the store fails with.
pub async fn growth(farm: &mut Farm<'_>) -> store::Result<Growth> {
    let batches = growing::all_batches(farm.tx).await?;
    let flushes = growing::all_flushes(farm.tx).await?;
    let warmth = readings(&rooms::temperatures(farm.tx).await?);
    let facts = facts(&batches, &flushes, (&warmth, farm.today()));
    let learned = learn(farm.crops.priors(), &facts, farm.today());
    let gone = growing::spent_batches(farm.tx).await?;
    let is_gone = |(place, batch): (usize, &Batch)| gone.contains(&batch.id).then(|| number(place));
    let spent = batches.iter().enumerate().filter_map(is_gone).collect();
    Ok(Growth { flushes: facts, learned, spent })
}

/// The stored shelves in the forecast's form. A flush of a crop with a malformed key is left out. Flushes and batches are
/// numbered in the order they were made, so that the same shelves give the same draws in every database.
pub fn facts(batches: &[Batch], flushes: &[Flush], (warmth, today): (&Readings, LocalDate)) -> Vec<FlushFacts> {
    let batch_of: BTreeMap<Id, (Id, &Batch)> =
        batches.iter().enumerate().map(|(place, batch)| (batch.id, (number(place), batch))).collect();
    let last_pick: BTreeMap<(Id, i64), LocalDate> =
        flushes.iter().filter_map(|flush| Some(((flush.batch_id, flush.number), flush.rests_since()?))).collect();
    flushes
        .iter()
        .enumerate()
        .filter_map(|(place, flush)| {
            let (batch_number, batch) = *batch_of.get(&flush.batch_id)?;
            let before = last_pick.get(&(flush.batch_id, flush.number - 1));
            let until = flush.picked.iter().map(|pick| pick.0).min().or(flush.closed_on).unwrap_or(today);
            let since = flush.initiated_on.unwrap_or(today);
            let room = warmth.get(&room_key(&batch.room));
            Some(FlushFacts {
                id: number(place),
                batch: batch_number,
                crop: batch.crop.parse().ok()?,
                number: u8::try_from(flush.number).ok()?,
                room: room_id(&batch.room),
                units: u32::try_from(batch.units).ok()?,
                lost_units: u32::try_from(flush.units_lost).unwrap_or_default(),
                dry_grams_per_unit: batch.dry_per_unit,
                start: match (flush.initiated_on, before) {
                    (Some(day), _) => Start::Begun(day),
                    (None, Some(day)) => Start::RestingSince(*day),
                    (None, None) => Start::Unknown,
                },
                pins_seen_on: flush.pins_on,
                picked: flush.picked.clone(),
                closed: flush.closed_on.is_some(),
                room_temperature_c: room.and_then(|room| mean_temperature_c(room, since, until)),
            })
        })
        .collect()
}

/// The number of the thing at this place in the order they were made, from 1.
fn number(place: usize) -> Id {
    Id::new(i64::try_from(place).unwrap_or(i64::MAX - 1) + 1)
}

/// What was said of each room's temperature, °C, by the room's key and day.
pub type Readings = BTreeMap<String, BTreeMap<LocalDate, f64>>;

/// The same from the record; of two words on one day the later one counts.
pub fn readings(said: &[(UtcSeconds, Temperature)]) -> Readings {
    let mut readings = Readings::new();
    for (_, one) in said {
        let room = readings.entry(room_key(&one.room)).or_default();
        room.insert(one.on_day, one.tenths_c as f64 / 10.0);
    }
    readings
}

/// A room's name as far as it tells rooms apart.
pub fn room_key(name: &str) -> String {
    name.to_lowercase()
}

/// Rooms are known by name; the forecast only needs to tell them apart. FNV-1a, so that the number never changes.
fn room_id(name: &str) -> Id {
    let hash = room_key(name)
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    Id::new(i64::try_from(hash >> 1).expect("63 bits fit"))
}
